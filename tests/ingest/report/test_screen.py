"""The report for a screen, read by a parser and by a real browser."""

import base64
import hashlib
import json
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

import dashboard
from ingest.report.document import Headline, Line, Paragraph, Report, Section, Trace
from ingest.report.drawn.screen import as_html, policy, zoom_script
from tests.browser import chromium
from tests.ingest.report.made import photograph, report, said

CHARTS = (Path(dashboard.__file__).parent / "shared/browser/plotly-basic.min.js").read_text(encoding="utf-8")


class Read(HTMLParser):
    """What a browser would take from it: tags with their attributes, its scripts, its policy, its text."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.scripts: list[str] = []
        self.texts: list[str] = []
        self._runs = False
        self._hidden = False
        self.feed(html)

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attributes)))
        self._hidden = tag in {"script", "style"}
        self._runs = tag == "script" and dict(attributes).get("type") != "application/json"
        if self._runs:
            self.scripts.append("")

    def handle_endtag(self, tag: str) -> None:
        self._runs = self._hidden = False

    def handle_data(self, data: str) -> None:
        if self._runs:
            self.scripts[-1] += data
        elif not self._hidden:
            self.texts.append(data)

    @property
    def policy(self) -> str:
        found = [it["content"] for _, it in self.tags if it.get("http-equiv") == "Content-Security-Policy"]
        return found[0] or ""


def test_no_text_turns_how_it_is_read() -> None:
    """Unicode Standard Annex 9: a record that was changed may hold what no ask and no import brings into one."""
    turned = replace(
        report(), tag="RTU\u202e4", place="Roof\u2066", front=[Section("\u202d", [Paragraph([said("a\u202eb")])])]
    )
    html = written(turned)
    assert not set(html) & set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
    assert "RTU\ufffd4" in html


def written(it: Report) -> str:
    return as_html(it, photograph, charts=CHARTS)


def without_traces(it: Report) -> Report:
    return replace(it, back=[section for section in it.back if section.title != "Time line"])


def addresses(html: str) -> Iterator[str]:
    for _, attributes in Read(html).tags:
        yield from (value or "" for name, value in attributes.items() if name in {"src", "href", "action", "data"})


def test_it_fetches_nothing() -> None:
    assert all(each.startswith("data:image/jpeg;base64,") for each in addresses(written(report())))
    assert "url(" not in re.sub(r"<script.*?</script>", "", written(report()), flags=re.DOTALL)


def test_its_own_scripts_run_and_no_other() -> None:
    """CSP level 3, 6.7.2: by their SHA-256."""
    read = Read(written(report()))
    assert len(read.scripts) == 2
    for script in read.scripts:
        assert f"'sha256-{base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()}'" in read.policy
    assert read.policy.startswith("default-src 'none'; script-src 'sha256-")
    assert policy([CHARTS, zoom_script()]) == read.policy


def test_charts_come_along_only_where_there_is_a_trace() -> None:
    html = written(without_traces(report()))
    assert Read(html).scripts == []
    assert "script-src 'none'" in Read(html).policy
    assert len(html) < len(CHARTS) / 2


def test_it_says_what_the_paper_says() -> None:
    text = "".join(Read(written(report())).texts)
    for told in ("RTU-P9T-3 runs and cools.", "± 5 °F, maker’s chart", "12:50 added 6 oz as liquid", "K7Q4-9XM"):
        assert told in text
    assert "DRAFT" not in text
    assert "DRAFT" in "".join(Read(written(report(signed=False))).texts)


@settings(max_examples=30, deadline=None)
@given(st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=60))
def test_what_a_person_wrote_is_text(text: str) -> None:
    hostile = f"</script></style>--><script>alert(1)</script><b onclick='x'>{text}&lt;"
    it = replace(
        report(),
        tag=hostile[:120],
        front=[Section(hostile, [Headline(said(hostile)), Paragraph([said(hostile)])])],
        back=[],
    )
    read = Read(as_html(it, photograph, charts="//"))
    assert not any(tag == "b" or "onclick" in attributes for tag, attributes in read.tags)
    assert [script for script in read.scripts if "alert" in script] == []
    assert "".join(read.texts).count(hostile) >= 2


@pytest.mark.browser
async def test_a_browser_draws_its_traces_and_prints_it(tmp_path: Path) -> None:
    file = tmp_path / "report.html"
    file.write_text(written(report()), encoding="utf-8")
    wrong: list[str] = []
    async with chromium() as browser:
        page = await browser.new_page(viewport={"width": 390, "height": 844})
        page.on("console", lambda message: wrong.append(message.text))
        page.on("pageerror", lambda error: wrong.append(str(error)))
        await page.goto(file.as_uri())
        await page.wait_for_selector(".plot .plot-container")
        assert await page.evaluate("document.documentElement.scrollWidth") == 390
        assert await page.locator(".plot .scatterlayer .trace").count() == 3
        assert not await page.locator(".drawn svg").first.is_visible()
        await page.emulate_media(media="print")
        assert await page.locator(".drawn svg").first.is_visible()
        assert not await page.locator(".plot").is_visible()
        await page.close()
    assert wrong == []


def test_its_traces_are_told_by_the_clock_of_the_zone() -> None:
    found = re.search(r'<script type="application/json" id="traces">(.*?)</script>', written(report()))
    assert found
    (trace,) = json.loads(found.group(1))
    assert trace["moments"][0] == "2026-05-30 12:30:00.000"
    assert trace["panels"] == ["°F", "A"]


def test_what_hardly_moves_fills_no_scale_of_a_chart_either() -> None:
    """As it is drawn without a script: of so little as instruments are off by no rise is drawn; common practice."""
    lines = [Line("Superheat", "°F", [0.0, 60.0], [10.0, 10.3]), Line("Compressor", "A", [0.0, 60.0], [8.0, 9.0])]
    it = replace(report(), back=[Section("Time line", [Trace(lines, [])])])
    found = re.search(r'<script type="application/json" id="traces">(.*?)</script>', written(it))
    assert found
    (trace,) = json.loads(found.group(1))
    assert [pytest.approx(high - low) for low, high in trace["scales"]] == [5.0, 2.0]
    assert all(low < value < high for (low, high), line in zip(trace["scales"], lines, strict=True)
               for value in line.values if value is not None)  # fmt: skip
