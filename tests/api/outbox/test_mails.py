"""Mails: written with the change, sent after it under one Message-ID, and built as mail readers want them.

What is sent is read back by the standard library's parser. The structure is that of RFC 2046, section 5.1.4 (the
alternative a reader likes best comes last), and RFC 2387 (pictures beside the HTML that names them).
"""

import email
import email.policy
import smtplib
from base64 import b64decode
from datetime import timedelta

import pytest
from django.core import mail

from api.jobs.models import State
from api.jobs.registry import QUEUES
from api.jobs.services import BACK_OFF, perform
from api.outbox.models import Letter, Mail
from api.outbox.services import letter_send, unit_of_work
from api.outbox.services.mails import MAILS
from api.tenancy.scope import network_scope
from api.web import clock
from tests.api.outbox.conftest import rows
from tests.database import every_value

# One pixel; from memory.
PNG = b64decode("iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==")
HTML = '<p>Zoë has lost weight.</p><img src="cid:pip@2027-05-02.report" alt="Pip, 28 g">'

pytestmark = pytest.mark.django_db(transaction=True)


def send(two, *, subject="Morning of 2 May: Zoë", recipients=("ana@example.org",), images=None, html=HTML):
    with network_scope(two.own), unit_of_work():
        return letter_send(
            subject=subject, text="Zoë has lost weight.", html=html, recipients=recipients, images=images
        )


def sent():
    """What has been handed to the mail server, read back."""
    return [email.message_from_bytes(one.message().as_bytes(), policy=email.policy.default) for one in mail.outbox]


def test_it_arrives_as_text_and_as_html_with_its_pictures(two, settings, standing_clock):
    settings.DEFAULT_FROM_EMAIL = "Handrear <reports@handrear.example>"
    send(two, images={"pip@2027-05-02.report": PNG})
    [message] = sent()
    assert (message["Subject"], message["To"]) == ("Morning of 2 May: Zoë", "ana@example.org")
    assert (message["From"], message["Date"]) == (
        "Handrear <reports@handrear.example>",
        "Sun, 02 May 2027 05:00:00 +0000",
    )
    assert message.get_content_type() == "multipart/alternative"
    text, shown = message.iter_parts()
    assert (text.get_content_type(), text.get_content().strip()) == ("text/plain", "Zoë has lost weight.")
    assert (shown.get_content_type(), shown.get_param("type")) == ("multipart/related", "text/html")
    html, picture = shown.iter_parts()
    assert (html.get_content_type(), html.get_content().strip()) == ("text/html", HTML)
    assert (picture.get_content_type(), picture.get_content()) == ("image/png", PNG)
    assert (picture["Content-ID"], picture.get_content_disposition()) == ("<pip@2027-05-02.report>", "inline")
    assert message.get_body(("plain",)).get_content().strip() == "Zoë has lost weight."
    assert list(message.iter_attachments()) == [], "no picture stands beside the text as a file"
    assert not message.defects


def test_without_pictures_it_is_the_two_alternatives(two):
    send(two, html="<p>Quiet.</p>")
    [message] = sent()
    assert [part.get_content_type() for part in message.walk()] == ["multipart/alternative", "text/plain", "text/html"]


def test_each_person_gets_one_mail_and_sees_no_other(two):
    send(two, recipients=["b@example.org", "a@example.org", "b@example.org"])
    assert sorted(message["To"] for message in sent()) == ["a@example.org", "b@example.org"]
    assert len({message["Message-ID"] for message in sent()}) == 2
    assert len(rows(Letter)) == 1
    assert [row.state for row in rows(Mail)] == [State.DONE] * 2


def test_the_message_id_is_of_the_senders_domain(two, settings):
    settings.DEFAULT_FROM_EMAIL = "Handrear <reports@handrear.example>"
    send(two)
    [row] = rows(Mail)
    assert sent()[0]["Message-ID"] == f"<{row.pk}@handrear.example>" == row.message_id


def test_a_mail_that_has_to_be_sent_again_is_the_same_mail(two, monkeypatch, standing_clock):
    """The server took it, and then the connection broke: nobody knows, so it is sent again."""
    deliver = mail.backends.locmem.EmailBackend.send_messages

    def take_and_break(self, messages):
        deliver(self, messages)
        raise smtplib.SMTPServerDisconnected("gone")

    monkeypatch.setattr(mail.backends.locmem.EmailBackend, "send_messages", take_and_break)
    send(two)
    [row] = rows(Mail)
    assert (row.state, row.attempts, row.last_error) == (State.WAITING, 1, "SMTPServerDisconnected: gone")
    monkeypatch.setattr(mail.backends.locmem.EmailBackend, "send_messages", deliver)
    with clock.standing_at(standing_clock + BACK_OFF[0] + timedelta(hours=5)):
        assert perform(QUEUES[MAILS], row.pk) is True
    first, again = sent()
    assert (first["Message-ID"], first["Date"]) == (again["Message-ID"], again["Date"])
    assert first.as_bytes().count(b"Message-ID") == 1
    assert [row.state for row in rows(Mail)] == [State.DONE]


def test_one_that_is_refused_holds_up_no_other(two, monkeypatch):
    deliver = mail.backends.locmem.EmailBackend.send_messages

    def refuse(self, messages):
        if messages[0].to == ["a@example.org"]:
            raise smtplib.SMTPRecipientsRefused({"a@example.org": (550, b"no such user")})
        return deliver(self, messages)

    monkeypatch.setattr(mail.backends.locmem.EmailBackend, "send_messages", refuse)
    send(two, recipients=["a@example.org", "b@example.org"])
    assert {row.recipient: row.state for row in rows(Mail)} == {
        "a@example.org": State.WAITING,
        "b@example.org": State.DONE,
    }


@pytest.mark.parametrize(
    "subject",
    ["Morning\r\nBcc: spy@example.org", "Morning\nBcc: spy@example.org", "Morning\x00", "Morning\u2028more", "x" * 256],
    ids=["crlf", "lf", "nul", "line-separator", "too-long"],
)
def test_a_subject_that_is_no_single_line_is_refused_and_nothing_is_kept(two, subject):
    before = every_value()
    with pytest.raises(ValueError, match="one line"):
        send(two, subject=subject)
    assert (every_value(), mail.outbox) == (before, [])


def test_an_address_that_would_begin_a_header_is_that_mails_own_failure(two):
    send(two, recipients=["a@example.org\nBcc: spy@example.org", "b@example.org"])
    assert [message["To"] for message in sent()] == ["b@example.org"]
    assert sorted(row.state for row in rows(Mail)) == [State.DONE, State.WAITING]


def test_long_lines_and_any_letters_arrive_whole(two):
    html = "<p>" + "Ένα πουλί, " * 300 + "</p>"
    send(two, html=html)
    [message] = sent()
    assert message.get_body(("html",)).get_content().strip() == html
    assert max(map(len, mail.outbox[0].message().as_bytes().splitlines())) <= 998, "RFC 5322, section 2.1.1"
