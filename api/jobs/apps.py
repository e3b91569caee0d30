"""Wiring of the room."""

from django.apps import AppConfig


class JobsConfig(AppConfig):
    name = "api.jobs"
    label = "jobs"
    verbose_name = "Jobs"

    def ready(self) -> None:
        from api.jobs import tasks  # noqa: F401 - the web process sends them, so it has to know them
        from api.jobs.models import Job
        from api.jobs.registry import Lane, Queue, register_queue, register_sweep
        from api.jobs.services import run_job
        from api.web.idempotency import idempotent_exchanges_expire

        register_queue(Queue("jobs", Job, run_job, lane=Lane.SLOW))
        register_sweep("web.idempotent_exchanges", idempotent_exchanges_expire)
