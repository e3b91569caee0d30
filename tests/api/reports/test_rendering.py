"""A report as mail and as a page: complete with pictures off, whatever people typed, read back by other parsers.

The mail is put together and read back by the standard library's ``email``, the HTML is read by ``html.parser``.
"""

from base64 import b64encode
from email import message_from_bytes, policy
from email.message import EmailMessage
from html.parser import HTMLParser

import pytest

from api.plans.rules.plan import Decision
from api.reports.rendering import render, with_pictures
from api.reports.rules.composing import compose
from api.reports.rules.page import page_of
from api.web.rules.cautions import Severity
from tests.pure.reports.morning import alert, bird, drawn, full_morning, occasion

SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 360 300"><rect width="360" height="300" fill="#eee"/></svg>'
LINK = "https://long-meadow.example/report?a=1&b=2"
#: Mail readers hide what goes beyond about 102 kB of HTML (common practice, no source).
MOST_BYTES = 100_000
VOID = {"meta", "br", "img"}


class Read(HTMLParser):
    """Text, pictures, links and tags of a page; complains of tags that do not match."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.open, self.tags, self.words, self.pictures, self.links = [], [], [], [], []
        self.feed(html)
        self.close()
        assert not self.open, self.open

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        told = dict(attrs)
        if tag == "img":
            self.pictures.append(told)
        if tag == "a":
            self.links.append(told["href"])
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


def mail_of(link=LINK, **given):
    report = compose(occasion(**given.pop("day", {})), **{**full_morning(), **given})
    charts = {one.chart.name: SVG for one in report.alerts if one.chart}
    return report, render(report, charts=charts, link=link)


def test_html_says_all_that_the_page_says_with_pictures_off():
    report, mail = mail_of()
    page, read = page_of(report), Read(mail.html)
    alts = [picture["alt"] for picture in read.pictures]
    for need in page.needs.shown:
        assert all(words in read.text for words in (need.who, need.where, *need.whys, *need.what_to_do))
    for group in page.alerts.shown:
        assert group.chart.text in alts
        assert all(one.text in read.text and one.standing in read.text for one in group.alerts)
    for line in (page.headline, *page.missed.shown, *page.outcomes.shown, *page.cautions, page.covers):
        assert line in read.text
    for site in page.night.shown:
        assert all(f"{at} {portions}" in read.text for at, portions in site.feeds)


def test_message_holds_two_alternatives_and_its_pictures():
    _, mail = mail_of()
    message = EmailMessage()
    message["Subject"], message["From"], message["To"] = mail.subject, "a@long-meadow.example", "b@long-meadow.example"
    message.set_content(mail.text)
    message.add_alternative(mail.html, subtype="html")
    for name, png in mail.images.items():
        message.get_payload()[1].add_related(png, "image", "png", cid=f"<{name}>")

    came = message_from_bytes(message.as_bytes(), policy=policy.default)
    assert came["Subject"] == mail.subject
    assert came.get_body(("plain",)).get_content() == mail.text
    html = came.get_body(("html",)).get_content()
    sent = {part["Content-ID"].strip("<>"): part.get_content() for part in came.walk() if part["Content-ID"]}
    asked = [picture["src"] for picture in Read(html).pictures]
    assert len(asked) == 3
    assert {src.removeprefix("cid:") for src in asked} == set(sent)
    assert all(png.startswith(b"\x89PNG\r\n\x1a\n") for png in sent.values())


def test_page_for_the_web_carries_its_pictures_and_cuts_nothing():
    _, mail = mail_of(birds=[bird(n, f"bird {n}", decision=Decision.WARM_FIRST) for n in range(1, 90)])
    pictures = {name: b64encode(png).decode() for name, png in mail.images.items()}
    read = Read(with_pictures(mail.page, pictures))
    assert [picture["src"] for picture in read.pictures] == [
        f"data:image/png;base64,{png}" for png in pictures.values()
    ]
    assert "bird 89" in read.text
    assert "more birds" not in read.text


def test_chart_without_its_picture_is_told_in_words():
    report = compose(occasion(), **full_morning())
    read = Read(render(report, charts={}, link=None).html)
    assert read.pictures == []
    assert all(one.chart.text in read.text for one in report.alerts)


def test_what_was_typed_cannot_call_a_picture():
    _, mail = mail_of()
    name = next(iter(mail.images))
    _, typed = mail_of(birds=[bird(1, f'x src="cid:{name}"', decision=None)])
    html = with_pictures(typed.html, {name: "AAAA"})
    assert html.count("data:image/png") == 1  # the chart itself


NASTY = "<b>Quill</b>\r\nBcc: thief@example.org\" onload='x()' & {{ page }} <script>alert(1)</script>"


@pytest.mark.parametrize("typed", [NASTY, '"><img src=x onerror=alert(1)>', "</div></body>"])
def test_whatever_was_typed_stays_text(typed):
    plain = Read(mail_of()[1].html).tags
    quill = bird(1, typed, species=typed, site=typed, stage=typed, decision=None, no_plan_because=typed)
    nasty = {
        "birds": (quill, *full_morning()["birds"][1:]),
        "alerts": (alert(1, quill, text=typed, actions=(typed,)), *full_morning()["alerts"][1:]),
    }
    _, mail = mail_of(day={"network": typed}, **nasty)
    read = Read(mail.html)
    assert set(read.tags) == set(plain)
    assert not {"script", "b"} & set(read.tags)
    assert all(picture["src"].startswith("cid:growth-") for picture in read.pictures)
    assert all(set(picture) == {"src", "alt", "width", "style"} for picture in read.pictures)


@pytest.mark.parametrize("typed", [NASTY, "Long\nMeadow", "Long\u2028Meadow\x0b\x0c", "M" * 400])
def test_a_name_puts_nothing_into_the_head_of_a_mail(typed):
    _, mail = mail_of(day={"network": typed})
    assert len(mail.subject.splitlines()) == 1
    assert len(mail.subject) <= 255
    message = EmailMessage()
    message["Subject"] = mail.subject  # the standard library refuses a line end
    message.set_content(mail.text)
    came = message_from_bytes(message.as_bytes(), policy=policy.default)
    assert came["Bcc"] is None
    assert came["Subject"].strip() == mail.subject  # a folded line is unfolded with its space


def test_more_is_a_link_to_the_whole_report_and_without_one_still_says_how_many():
    birds = [bird(n, f"bird {n}", last_weighed_at=None) for n in range(1, 90)]
    with_link, without = (mail_of(link=link, birds=birds)[1] for link in (LINK, None))
    assert LINK in Read(with_link.html).links
    assert LINK in with_link.text
    assert Read(without.html).links == []
    assert "And 74 more birds." in Read(without.html).text


def test_the_worst_spring_morning_stays_below_what_readers_show():
    """Hundreds of birds, each with everything wrong, the longest texts that are shown and names full of marks."""
    wide = "&" * 200
    birds = [
        bird(
            n,
            f"{n} {wide}",
            species=f"{n} {wide}",
            site=f"{n} {wide}",
            stage=f"{n} {wide}",
            decision=Decision.SEE_VET,
            vet_needed=True,
            vet_within_h=1,
            vet_reasons=("A reason. " * 300,),
            last_weighed_at=None,
        )
        for n in range(1, 400)
    ]
    steps = tuple(f"Step {n}. " * 20 for n in range(3))
    alerts = [
        alert(1000 * code + one.id.int, one, severity=Severity.URGENT, text="A finding. " * 300, actions=steps)
        for one in birds
        for code in (1, 2)
    ]
    _, mail = mail_of(birds=birds, alerts=alerts, drawn=[drawn(one, 1.0) for one in birds[:12]])
    assert len(mail.html.encode()) < MOST_BYTES
    assert len(mail.text.encode()) < MOST_BYTES


def test_every_style_is_inline_and_nothing_is_fetched():
    """Mail readers drop style sheets and block what is not in the message (common practice, no source)."""
    html = mail_of()[1].html
    read = Read(html)
    assert not {"style", "link", "script", "form"} & set(read.tags)
    assert "url(" not in html
    assert read.links == [LINK]
