"""An invented network's birds this morning, through the service's own API; then the server."""

import secrets
from argparse import ArgumentParser
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand

from api.config.demo import next_round, pages
from api.config.demo.records import last_morning, records_enter
from api.config.demo.scenario import OPERATOR, Scenario, network_of, operator_of, scenario_read, token_of
from api.config.demo.service import Service
from api.jobs.rules.due import latest_slot
from api.reports.services import report_compose
from api.tenancy.models import Network
from api.web import clock


class Command(BaseCommand):
    help = "Show an invented network's birds, alerts, next round and report; then serve the API."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--no-serve", action="store_true", help="end after showing, with 0")
        parser.add_argument("--bind", default="127.0.0.1:8000", help="host:port to serve on, 127.0.0.1:8000 by default")

    def handle(self, *args: Any, no_serve: bool, bind: str, **options: Any) -> None:
        self._step("1/5 Bringing the database up to date ...")
        call_command("migrate", interactive=False, verbosity=0)
        self._step("2/5 Loading the species packs ...")
        call_command("packs_load", stdout=self.stdout, stderr=self.stderr)
        self._step("3/5 Making the network, its people and its sites, entering ten days of weighings ...")
        scenario = scenario_read()
        network = network_of(scenario)
        token = token_of(network, scenario.coordinator)
        service = Service(token)
        now = clock.now().astimezone(ZoneInfo(scenario.time_zone))
        records_enter(scenario, network, service, last_morning(now, ZoneInfo(scenario.time_zone)))
        self._step("4/5 Asking the service for every bird's plan ...")
        first = self._show(scenario, service, now)
        self._step("\n5/5 Composing the morning's report ...")
        self._report(network, service)
        password = secrets.token_urlsafe(12)
        operator_of(password)
        self._head("Where to look next")
        self._lines(pages.where_next_page(f"http://{bind}", token, first))
        self._lines(pages.admin_page(f"http://{bind}", OPERATOR["email"], password))
        if no_serve:
            return
        self.stdout.write("")
        call_command("serve", bind=bind, stdout=self.stdout, stderr=self.stderr)

    def _show(self, scenario: Scenario, service: Service, now: datetime) -> tuple[dict[str, Any], dict[str, Any]]:
        birds = service.pages("/birds?in_care=true")
        sites = {site["id"]: site["name"] for site in service.pages("/sites")}
        plans = next_round.plans_of(birds, service, now.date())
        at, fed = next_round.due(plans, now)
        if at is None:  # the day's last feed is over: show tomorrow's first
            plans = next_round.plans_of(birds, service, now.date() + timedelta(days=1))
            at, fed = next_round.due(plans, now)
        self._head(f"{scenario.network['name']}, {now:%A %d %B %Y, %H:%M}")
        self._lines(pages.birds_page(plans, sites))
        self._head("Alerts")
        self._lines(pages.alerts_page(service.pages("/alerts"), {bird["id"]: bird["name"] for bird in birds}))
        if at is not None:
            self._head(f"Next round: {sites[fed[0][0]['site_id']]}, {at:%A %H:%M}")
            self._lines(pages.round_page(fed))
            self._lines(pages.before_page(next_round.before(plans, now, at)))
            for mix in next_round.mixes_for(service, at, fed):
                self._head("Mix")
                self._lines(pages.mix_page(mix))
        explained = next((bird, plan) for bird, plan in plans if plan["formula"] is not None)
        self._head("One plan explained")
        self._lines(pages.explained_page(*explained))
        return explained

    def _report(self, network: Network, service: Service) -> None:
        """The report of the last morning; the ticker of the server sends the next one by itself."""
        slot = latest_slot(clock.now(), ZoneInfo(network.time_zone), network.report_at)
        report = report_compose(network=network, slot=slot)
        page = settings.VAR_DIR / "demo" / "report.html"
        page.parent.mkdir(parents=True, exist_ok=True)
        page.write_text(service.text(f"/reports/{report.pk}.html"), encoding="utf-8")
        self._head("Report")
        self.stdout.write(report.letter.subject)
        self.stdout.write(f"To be opened in a browser: {page}")
        if getattr(settings, "EMAIL_FILE_PATH", None):
            self.stdout.write(f"Its mail, as it was sent: {settings.EMAIL_FILE_PATH}")

    def _step(self, text: str) -> None:
        self.stdout.write(text)
        self.stdout.flush()

    def _head(self, text: str) -> None:
        self.stdout.write(f"\n{text}\n{'=' * len(text)}")

    def _lines(self, lines: Any) -> None:
        for line in lines:
            self.stdout.write(line)
