"""Signing in, and granting an app access to one network."""

from typing import Any

from django import forms
from django.contrib.auth.views import LoginView
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils.decorators import method_decorator
from django.views.decorators.csrf import csrf_exempt
from oauth2_provider.exceptions import OAuthToolkitError
from oauth2_provider.forms import AllowForm
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

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        quota = throttles.count_address("sign_in", request)
        if quota is None or not quota.exhausted:
            answer: HttpResponse = super().post(request, *args, **kwargs)
            return answer
        wait_s = quota.resets_in_s
        page = self.get_context_data(form=self.get_form_class()(request), wait_s=wait_s)
        return self.render_to_response(page, status=429, headers={"Retry-After": str(wait_s)})


class ConsentForm(AllowForm):
    network = forms.ModelChoiceField(Network.objects.none(), required=False, label="For the network", empty_label=None)

    def __init__(self, *args: Any, networks: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["network"].queryset = networks

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
        client = self._client()
        told = {"application": client, "asked_scopes": self._asked_scopes()}
        context: dict[str, Any] = super().get_context_data(**{**kwargs, **told})
        return context

    def form_valid(self, form: ConsentForm) -> HttpResponse:
        self.chosen = form.cleaned_data.get("network")
        answer: HttpResponse = super().form_valid(form)
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
        sent = self.request.POST if self.request.method == "POST" else self.request.GET
        return ApiClient.objects.filter(client_id=sent.get("client_id", "")).first()

    def _asked_scopes(self) -> list[str]:
        sent = self.request.POST if self.request.method == "POST" else self.request.GET
        asked = sent.get("scope", "").split() or getattr(self, "oauth2_data", {}).get("scopes", [])
        return [SCOPES[scope] for scope in asked if scope in SCOPES]

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
