"""Letters to people: written with the change, sent after it, at least once and always under one Message-ID."""

from base64 import b64decode, b64encode
from collections.abc import Iterable, Mapping
from email.mime.image import MIMEImage
from email.utils import format_datetime, parseaddr
from typing import Any

from django.conf import settings
from django.core.mail import EmailMultiAlternatives, SafeMIMEMultipart, SafeMIMEText

from api.jobs.services import enqueue
from api.outbox.models import Letter, Mail

#: The queue of ``jobs`` that mails go through.
MAILS = "outbox.mails"


def letter_send(
    *, subject: str, text: str, html: str, recipients: Iterable[str], images: Mapping[str, bytes] | None = None
) -> Letter:
    """Write a letter and one mail for each recipient; inside the transaction of what it tells of.

    Parameters
    ----------
    images
        PNG files by the name that the HTML calls them (``cid:name``).

    Raises
    ------
    ValueError
        Of a subject that is no single line of at most 255 characters: a line break in it would begin a header.
    """
    if len(subject) > 255 or not subject.isprintable():
        raise ValueError(f"A subject is one line of at most 255 characters; this is {subject!r}.")
    letter = Letter(
        subject=subject,
        text=text,
        html=html,
        images={name: b64encode(image).decode() for name, image in (images or {}).items()},
    )
    letter.save(force_insert=True)
    mails = [
        Mail(network_id=letter.network_id, letter=letter, recipient=recipient) for recipient in sorted(set(recipients))
    ]
    for mail in mails:
        # Made once and kept: a mail that has to be sent again is the same mail to whoever gets it.
        mail.message_id = f"<{mail.pk}@{_domain()}>"
    Mail.objects.bulk_create(mails)
    enqueue(MAILS, mails)
    return letter


def mail_deliver(mail: Mail) -> None:
    """Hand a mail to the mail server; what the queue of mails does."""
    letter = mail.letter
    headers = {"Message-ID": mail.message_id, "Date": format_datetime(letter.made_at)}
    _Message(letter, to=[mail.recipient], headers=headers).send()


class _Message(EmailMultiAlternatives):
    """A letter as text, and as HTML with its pictures for who shows it (RFC 2046, section 5.1.4; RFC 2387).

    Django's own order is the other way round: pictures beside both, which readers of the text see as files attached.
    """

    def __init__(self, letter: Letter, **envelope: Any) -> None:
        super().__init__(subject=letter.subject, body=letter.text, **envelope)
        self.attach_alternative(letter.html, "text/html")
        self.letter = letter

    def _create_message(self, msg: SafeMIMEText) -> SafeMIMEMultipart:
        shown: SafeMIMEText | SafeMIMEMultipart = SafeMIMEText(self.letter.html, "html", "utf-8")
        if self.letter.images:
            html, shown = shown, SafeMIMEMultipart(_subtype="related", type="text/html")
            for part in (html, *(_picture(name, image) for name, image in self.letter.images.items())):
                shown.attach(part)
        either = SafeMIMEMultipart(_subtype="alternative")
        either.attach(msg)
        either.attach(shown)
        return either


def _picture(name: str, image: str) -> MIMEImage:
    part = MIMEImage(b64decode(image), _subtype="png")
    part.add_header("Content-ID", f"<{name}>")
    part.add_header("Content-Disposition", "inline", filename=f"{name}.png")
    return part


def _domain() -> str:
    return parseaddr(settings.DEFAULT_FROM_EMAIL)[1].rpartition("@")[2]
