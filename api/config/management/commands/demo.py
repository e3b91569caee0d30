"""An invented network's birds today, through the service's own API; then the server."""

from argparse import ArgumentParser
from datetime import timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.core.management import call_command
from django.core.management.base import BaseCommand

from api.config.demo import next_round, pages
from api.config.demo.scenario import network_and_token, scenario_read
from api.config.demo.service import Service
from api.web import clock


class Command(BaseCommand):
    help = "Show an invented site's next feed, one mix and one plan explained; then serve the API."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--no-serve", action="store_true", help="end after showing, with 0")
        parser.add_argument("--bind", default="127.0.0.1:8000", help="host:port to serve on, 127.0.0.1:8000 by default")

    def handle(self, *args: Any, no_serve: bool, bind: str, **options: Any) -> None:
        self._step("1/4 Bringing the database up to date ...")
        call_command("migrate", interactive=False, verbosity=0)
        self._step("2/4 Loading the species packs ...")
        call_command("packs_load", stdout=self.stdout, stderr=self.stderr)
        self._step("3/4 Making the network of the scenario ...")
        scenario = scenario_read()
        token = network_and_token(scenario)
        self._step("4/4 Asking the service for every bird's plan ...")
        first_plan = self._show(scenario)
        self._head("Where to look next")
        self._lines(pages.where_next_page(scenario, f"http://{bind}", token, first_plan))
        if no_serve:
            return
        self.stdout.write("")
        call_command("serve", bind=bind, stdout=self.stdout, stderr=self.stderr)

    def _show(self, scenario: Any) -> dict[str, Any]:
        service = Service()
        zone = ZoneInfo(scenario.network["time_zone"])
        now = clock.now().astimezone(zone)
        plans = next_round.plans_of(scenario, service, now.date())
        at, birds = next_round.due(plans, now)
        if at is None:  # the day's last feed is over: show tomorrow's first
            plans = next_round.plans_of(scenario, service, now.date() + timedelta(days=1))
            at, birds = next_round.due(plans, now)
        self._head(f"{scenario.network['name']}, {scenario.site['name']}, {now:%A %d %B %Y, %H:%M}")
        self._lines(pages.birds_page(plans))
        if at is not None:
            self._head(f"Next feed: {at:%A %H:%M}")
            self._lines(pages.round_page(birds))
            self._lines(pages.before_page(next_round.before(plans, now, at)))
            for mix in next_round.mixes_for(scenario, service, at, birds):
                self._head("Mix")
                self._lines(pages.mix_page(mix))
        self._head("Not to be fed yet")
        self._lines(pages.waiting_page(plans))
        explained = next((bird, plan) for bird, plan in plans if plan["formula"] is not None)
        self._head("One plan explained")
        self._lines(pages.explained_page(*explained))
        return explained[1]

    def _step(self, text: str) -> None:
        self.stdout.write(text)
        self.stdout.flush()

    def _head(self, text: str) -> None:
        self.stdout.write(f"\n{text}\n{'=' * len(text)}")

    def _lines(self, lines: Any) -> None:
        for line in lines:
            self.stdout.write(line)
