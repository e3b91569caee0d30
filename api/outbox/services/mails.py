"""Letters to people: written with the change, sent after it, at least once and always under one Message-ID."""

from base64 import b64decode, b64encode
from collections.abc import Iterable, Mapping
from email.mime.image import MIMEImage
from email.utils import format_datetime, parseaddr

from django.conf import settings
from django.core.mail import EmailMultiAlternatives

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
    """
    letter = Letter(
        subject=subject,
        text=text,
        html=html,
        images={name: b64encode(image).decode() for name, image in (images or {}).items()},
    )
    letter.save(force_insert=True)
    for recipient in sorted(set(recipients)):
        mail = Mail(network_id=letter.network_id, letter=letter, recipient=recipient)
        # Made once and kept: a mail that has to be sent again is the same mail to whoever gets it.
        mail.message_id = f"<{mail.pk}@{_domain()}>"
        mail.save(force_insert=True)
        enqueue(MAILS, mail)
    return letter


def mail_deliver(mail: Mail) -> None:
    """Hand a mail to the mail server; what the queue of mails does."""
    letter = mail.letter
    message = EmailMultiAlternatives(
        subject=letter.subject,
        body=letter.text,
        to=[mail.recipient],
        headers={"Message-ID": mail.message_id, "Date": format_datetime(letter.made_at)},
    )
    message.mixed_subtype = "related"
    message.attach_alternative(letter.html, "text/html")
    for name, image in letter.images.items():
        part = MIMEImage(b64decode(image), _subtype="png")
        part.add_header("Content-ID", f"<{name}>")
        part.add_header("Content-Disposition", "inline", filename=f"{name}.png")
        message.attach(part)
    message.send()


def _domain() -> str:
    return parseaddr(settings.DEFAULT_FROM_EMAIL)[1].rpartition("@")[2]
