"""Signing in, and granting an app access to one network."""

from typing import Any
from urllib.parse import parse_qsl, urlencode, urlsplit

from django import forms
from django.contrib.auth.views import LoginView
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.urls import reverse
from django.utils.decorators import method_decorator
from django.views.decorators.csrf import csrf_exempt
from oauth2_provider.exceptions import OAuthToolkitError
from oauth2_provider.forms import AllowForm
from oauth2_provider.settings import oauth2_settings
from oauth2_provider.views import AuthorizationView, TokenView
from oauthlib.oauth2.rfc6749.errors import CustomOAuth2Error

from api.networks import selectors
from api.tenancy.models import ApiClient, Network
from api.tenancy.scopes import SCOPES
from api.web import throttles


class SignInView(LoginView):
    """One page for people and operators, with a quota of attempts: guessing a password must be slow."""

    template_name = "networks/sign_in.html"
    next_page = "/api/v1/docs"

    def get_form(self, *args: Any, **kwargs: Any) -> Any:
        form = super().get_form(*args, **kwargs)
        form.fields["username"].widget.attrs["inputmode"] = "email"  # the keyboard of a phone
        return form

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        for_an_app = self.get_redirect_url().startswith(reverse("oauth2_provider:authorize"))
        context: dict[str, Any] = super().get_context_data(**{**kwargs, "for_an_app": for_an_app})
        return context

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        quota = throttles.count_address("sign_in", request)
        if quota is None or not quota.exhausted:
            answer: HttpResponse = super().post(request, *args, **kwargs)
            return answer
        wait_s = quota.resets_in_s
        page = self.get_context_data(form=self.get_form_class()(request), wait_s=wait_s)
        return self.render_to_response(page, status=429, headers={"Retry-After": str(wait_s)})


class ConsentForm(AllowForm):
    network = forms.ModelChoiceField(Network.objects.none(), required=False, empty_label=None, widget=forms.RadioSelect)

    def __init__(self, *args: Any, networks: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["network"].queryset = networks
        # Of several none is chosen beforehand: records of one must not go to another's app by a hasty click.
        if len(only := list(networks[:2])) == 1:
            self.fields["network"].initial = only[0].pk

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        if cleaned.get("allow") and not cleaned.get("network"):
            self.add_error("network", "Choose the network that the app may work for.")
        return cleaned


class ConsentView(AuthorizationView):
    """Asks the signed-in person which of their networks the app may work for: one token, one network."""

    template_name = "networks/consent.html"
    form_class = ConsentForm
    chosen: Network | None = None

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "networks": self._networks()}

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        # A form sent back with faults has lost what the page tells of the app.
        back = urlsplit(self._sent().get("redirect_uri", ""))
        told = {
            "application": self._client(),
            "asked_scopes": self._asked_scopes(),
            "goes_to": back.netloc or back.scheme,
        }
        context: dict[str, Any] = super().get_context_data(**{**kwargs, **told})
        return context

    def form_valid(self, form: ConsentForm) -> HttpResponse:
        self.chosen = form.cleaned_data.get("network")
        answer: HttpResponse = super().form_valid(form)
        return answer

    def redirect(self, redirect_to: str, application: ApiClient | None) -> HttpResponse:
        """Back to the app, with the issuer: RFC 9207, section 2, wants it with refusals too.

        The library does not hand on the app when it refuses a request at once, and would then send nobody back to a
        loopback address or a scheme of its own (RFC 8252), although it has held the address against the app's.
        """
        parts = urlsplit(redirect_to)
        told = [(name, value) for name, value in parse_qsl(parts.query, keep_blank_values=True) if name != "iss"]
        issuer = oauth2_settings.oauth2_authorization_server_issuer(self.request)
        address = parts._replace(query=urlencode([*told, ("iss", issuer)])).geturl()
        answer: HttpResponse = super().redirect(address, application or self._client())
        return answer

    def create_authorization_response(
        self, request: HttpRequest, scopes: str, credentials: dict[str, Any], allow: bool
    ) -> Any:
        if allow:
            credentials["network_id"] = self._network_for(credentials).pk
        return super().create_authorization_response(request, scopes, credentials, allow)

    def _network_for(self, credentials: dict[str, Any]) -> Network:
        if self.chosen is not None:
            return self.chosen
        # Granted without the form (an app that skips it, or a grant renewed): only one network may be meant.
        networks = list(self._networks()[:2])
        if len(networks) != 1:
            raise OAuthToolkitError(
                error=CustomOAuth2Error(
                    error="interaction_required",
                    description="The person has to choose a network on the consent page.",
                    state=credentials.get("state"),
                ),
                redirect_uri=credentials["redirect_uri"],
            )
        return networks[0]

    def _client(self) -> ApiClient | None:
        return ApiClient.objects.filter(client_id=self._sent().get("client_id", "")).first()

    def _asked_scopes(self) -> list[str]:
        asked = self._sent().get("scope", "").split() or getattr(self, "oauth2_data", {}).get("scopes", [])
        return [SCOPES[scope] for scope in asked if scope in SCOPES]

    def _sent(self) -> Any:
        return self.request.POST if self.request.method == "POST" else self.request.GET

    def _networks(self) -> Any:
        return selectors.networks_of(self.request.user, client=self._client())


# Apps bring no cookie; the exemption of the library's view goes with the method that is replaced here.
@method_decorator(csrf_exempt, name="dispatch")
class TokenEndpoint(TokenView):
    """The library's, with a quota: checking a secret is slow on purpose, guessing one must be slower."""

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        quota = throttles.count_address("token", request)
        if quota is not None and quota.exhausted:
            return JsonResponse(
                {"error": "temporarily_unavailable", "error_description": "Too many requests; wait."},
                status=429,
                headers={"Retry-After": str(quota.resets_in_s), "Cache-Control": "no-store"},
            )
        answer: HttpResponse = super().dispatch(request, *args, **kwargs)
        return answer
