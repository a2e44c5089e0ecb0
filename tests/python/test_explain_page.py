"""Both pages in a real browser, on a phone, a desk and paper: nothing cut, nothing false, no harm.

The browser is Debian's chromium, driven over its own protocol; the accessibility rules are those of
axe-core (WCAG), run within the page.
"""

import re
import shutil

import pytest
from axe_playwright_python.sync_playwright import Axe
from explained import RUDE, explained, long_boom
from playwright.sync_api import sync_playwright
from pypdf import PdfReader

from evenfront import explain_page, sheet_page

PHONE = {"width": 390, "height": 844}
DESK = {"width": 1280, "height": 900}
MARGINS = 24  # [mm], both sides together, of the page's own style
PAPER = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}  # [mm], ISO 216, ANSI/ASME Y14.1
MOST_WORDS = 120
PSI = 14.5037738  # in one bar, NIST SP 811


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    """Pages by name, opened from disk as a customer would."""
    folder = tmp_path_factory.mktemp("pages")
    pages = {
        "explained": explain_page.page(explained()),
        "sheet": sheet_page.page(long_boom().sheet),
        "long-boom": explain_page.page(long_boom()),
    }
    for name, text in pages.items():
        (folder / f"{name}.html").write_text(text, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def browser():
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    assert found, "the pages are tested in a real browser: apt-get install chromium"
    with sync_playwright() as driver:
        started = driver.chromium.launch(executable_path=found, args=["--no-sandbox"])
        yield started
        started.close()


@pytest.fixture
def visit(browser, files):
    """Open a page; at the end nothing may have been said on the console or asked of a network."""
    said, asked, opened = [], [], []

    def go(name, size=PHONE, **how):
        context = browser.new_context(viewport=size, **how)
        opened.append(context)
        page = context.new_page()
        page.on("console", lambda message: said.append(message.text))
        page.on("pageerror", lambda error: said.append(str(error)))
        page.on("request", lambda request: asked.append(request.url))
        page.goto((files / f"{name}.html").as_uri())
        return page

    yield go
    for context in opened:
        context.close()
    assert said == []
    assert all(url.startswith("file:") for url in asked)


CUT = """() => [...document.querySelectorAll('body *')].filter(e => {
  if (e.closest('svg, script, .hidden') || !e.getClientRects().length) return false;
  const box = e.getBoundingClientRect(), wide = document.documentElement.clientWidth + 0.5;
  const hides = getComputedStyle(e).overflow !== 'visible' && e.scrollWidth > e.clientWidth + 1;
  return box.right > wide || box.left < -0.5 || hides;
}).map(e => e.tagName + ' ' + e.textContent.slice(0, 50))"""

CUT_IN_PICTURES = """() => [...document.querySelectorAll('svg.picture')].flatMap(s =>
  [...s.querySelectorAll('text')].filter(t => {
    const box = t.getBBox(), view = s.viewBox.baseVal;
    return box.width && (box.x < 0 || box.y < 0 || box.x + box.width > view.width
      || box.y + box.height > view.height);
  }).map(t => s.querySelector('title').textContent + ': ' + t.textContent))"""


@pytest.mark.parametrize("name", ["explained", "long-boom", "sheet"])
def test_nothing_is_cut_on_a_phone_at_a_desk_or_in_print(visit, name):
    page = visit(name)
    for width, media in ((390, "screen"), (1280, "screen"), *_printed_widths()):
        page.set_viewport_size({"width": width, "height": 844})
        page.emulate_media(media=media)
        assert page.evaluate("document.documentElement.scrollWidth") <= width, (width, media)
        assert page.evaluate(CUT) == [], (width, media)
        assert page.evaluate(CUT_IN_PICTURES) == [], (width, media)


def _printed_widths():
    """Width between the margins [CSS px, 96 to the inch] of each paper."""
    return [(int((wide - MARGINS) / 25.4 * 96), "print") for wide, _ in PAPER.values()]


@pytest.mark.parametrize("paper", list(PAPER))
def test_both_pages_print_and_the_sheet_takes_one_sheet_of_paper(visit, tmp_path, paper):
    for name, most, last in (("sheet", 1, "checked by, date"), ("explained", 8, "Page of")):
        path = tmp_path / f"{name}.pdf"
        visit(name).pdf(path=path, format=paper)
        printed = PdfReader(path)
        assert 1 <= len(printed.pages) <= most
        size = [float(side) * 25.4 / 72 for side in printed.pages[0].mediabox[2:]]
        assert size == pytest.approx(PAPER[paper], abs=0.6)
        assert last in " ".join(printed.pages[-1].extract_text().split())


@pytest.mark.parametrize(
    ("name", "size", "scheme"),
    [
        ("explained", PHONE, "light"),
        ("explained", DESK, "dark"),
        ("sheet", PHONE, "dark"),
        ("sheet", DESK, "light"),
    ],
)
def test_the_accessibility_checker_finds_nothing_serious(visit, name, size, scheme):
    found = Axe().run(visit(name, size, color_scheme=scheme)).response
    assert found["testEngine"]["name"] == "axe-core"
    assert len(found["passes"]) > 10
    grave = [
        (rule["id"], node["html"][:90])
        for rule in found["violations"]
        for node in rule["nodes"]
        if rule["impact"] in ("serious", "critical")
    ]
    assert grave == []


@pytest.mark.parametrize("name", ["explained", "long-boom"])
def test_the_first_screen_holds_verdict_and_picture_in_few_words(visit, name):
    page = visit(name)
    words = page.locator(".first").inner_text().split()
    assert 20 < len(words) <= MOST_WORDS
    for part in (".first h1", ".first svg.picture", ".first .do"):
        box = page.locator(part).bounding_box()
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= PHONE["width"]
        assert box["y"] >= 0
        assert box["y"] + box["height"] <= PHONE["height"], part
    verdict = explained().verdict if name == "explained" else long_boom().verdict
    assert page.locator("h1").inner_text() == verdict


SHOWN = (
    "() => [...document.querySelectorAll('data')].map(d => [d.dataset.key, d.value, d.innerText])"
)


@pytest.mark.parametrize("name", ["explained", "long-boom"])
def test_every_number_of_the_page_is_that_of_json(visit, name):
    told = (explained() if name == "explained" else long_boom()).to_dict()
    shown = visit(name).evaluate(SHOWN)
    assert len(shown) > 150
    for key, value, text in shown:
        number = told
        for step in key.split("."):
            number = number[int(step)] if isinstance(number, list) else number[step]
        assert float(value) == number, key
        size = 100.0 if "%" in text else 1.0
        close = 6e-3 if size == 1.0 and abs(number) >= 1.0 else 0.05  # three figures, or two
        if text.startswith("below"):
            assert number < 0.001, key
        elif key.endswith(("_mL", "_mm", "_s", "_bar", "probability", "error")):
            read = float(re.match(r"[+-]?[0-9.]+(e-?[0-9]+)?", text)[0])
            units = (size, PSI) if key.startswith("sheet.") else (size,)  # bar, then psi beside it
            assert any(
                read == pytest.approx(unit * number, rel=close, abs=6e-4) for unit in units
            ), (key, text)


def test_text_of_a_user_is_shown_and_not_run(visit):
    page = visit("explained")
    assert page.title().startswith("<script>document.title = 'rude'</script> & \"Sons'")
    assert page.locator(".first .facts").first.inner_text() == RUDE
    assert page.locator("script").count() == 1
    assert "below the <b>coil</b>" in page.locator("table.inputs").inner_text()
    assert page.locator("b").count() == 0


def test_the_lead_moves_until_it_is_paused_and_stands_still_for_those_who_ask(visit):
    page = visit("explained")
    frames = page.locator(".frame")
    assert frames.count() == 28
    running = "e => getComputedStyle(e).animationPlayState"
    assert frames.first.evaluate(running) == "running"
    page.get_by_role("button", name="Pause").click()
    assert frames.first.evaluate(running) == "paused"
    page.get_by_role("button", name="Play").click()
    assert frames.first.evaluate(running) == "running"
    shown = (
        "() => [...document.querySelectorAll('.frame')].filter(f => "
        "getComputedStyle(f).visibility === 'visible').length"
    )
    page.wait_for_function(f"({shown})() === 1")
    for how in ({"reduced_motion": "reduce"}, {"media": "print"}):
        page.emulate_media(**how)
        assert page.locator(".stills").is_visible()
        assert not page.locator(".movie").is_visible()
    page.emulate_media(media="screen", reduced_motion="no-preference")
    assert page.locator(".movie").is_visible()
    assert not page.locator(".stills").is_visible()


def test_dark_screens_get_light_ink(visit):
    ink = "getComputedStyle(document.body).color"
    light, dark = (
        sum(map(int, re.findall(r"\d+", visit("sheet", color_scheme=scheme).evaluate(ink))[:3]))
        for scheme in ("light", "dark")
    )
    assert light < 150 < 600 < dark
