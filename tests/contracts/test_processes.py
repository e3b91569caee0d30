"""The means by which tests run the service's real processes do what they say."""

import smtplib
import subprocess
import sys
from email.message import EmailMessage

import pytest

from tests import processes
from tests.factories import make_network


def test_a_worker_answers_and_ends_when_it_is_told_to(real_processes):
    worker = real_processes.worker(concurrency=2)
    assert len(worker.pids()) == 3, "itself and two that do the work"
    asked = subprocess.run(
        [sys.executable, "-m", "celery", "-A", "api.config.celery_app", "inspect", "ping"],
        cwd=processes.ROOT,
        env=real_processes.environment(),
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert asked.stdout.count("pong") == 1, asked.stdout + asked.stderr
    assert worker.stop() == 0, worker.said()
    assert worker.pids() == []


def test_one_that_is_killed_leaves_nothing_behind_and_the_others_alone(real_processes):
    worker, beat = real_processes.worker(concurrency=2), real_processes.beat()
    assert (len(worker.pids()), beat.pids()) == (3, [beat.pid])
    worker.kill()
    assert (worker.pids(), beat.pids()) == ([], [beat.pid])
    assert beat.stop() == 0, beat.said()
    assert beat.pids() == []


def test_a_process_sees_the_rows_of_the_test(real_processes):
    make_network(name="Hedgerow")
    code = "from api.tenancy.models import Network; print(*Network.objects.values_list('name', flat=True))"
    read = subprocess.run(
        [sys.executable, "manage.py", "shell", "--no-imports", "-c", code],
        cwd=processes.ROOT,
        env=real_processes.environment(),
        capture_output=True,
        text=True,
    )
    assert read.stdout.strip() == "Hedgerow", read.stderr


def test_the_mail_server_keeps_what_it_is_sent():
    mailbox = processes.Mailbox()
    letter = EmailMessage()
    letter["Message-ID"] = "<one@handrear>"
    letter.set_content("Ash, 118 g")
    with mailbox.open(), smtplib.SMTP("127.0.0.1", mailbox.port) as sent:
        for _ in range(2):
            sent.send_message(letter, "from@example.org", ["a@example.org", "b@example.org"])
    assert [one.recipients for one in mailbox.letters] == [("a@example.org", "b@example.org")] * 2
    assert {one.message["Message-ID"] for one in mailbox.letters} == {"<one@handrear>"}
    assert mailbox.letters[0].message.get_content().splitlines() == ["Ash, 118 g"]


def test_waiting_gives_what_came_and_fails_when_the_time_is_over():
    answers = iter([0, None, "here"])
    assert processes.until(lambda: next(answers)) == "here"
    with pytest.raises(pytest.fail.Exception, match=r"Not within 0\.1 s: rain"):
        processes.until(lambda: False, within_s=0.1, what="rain")
