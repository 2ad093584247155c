"""The HTML handout in a real Chromium: it opens from disk, asks for nothing, can be used by keys and touch, prints.

Accessibility is judged by axe-core (open source), with its rules for WCAG 2.1 levels A and AA and its best practices.
"""

from __future__ import annotations

import itertools
import json
from pathlib import Path

import pytest

from kg.export import Wishes, handout_bytes, make_handout
from tests.export.hostile import DATE, HOSTILE

By = "css selector"


@pytest.fixture(scope="module")
def pages(shipped, hostile, tmp_path_factory) -> dict[str, Path]:
    """name -> file: a list, one of more than 250 patterns, a comparison, a grouped list, and the hostile one."""
    folder = tmp_path_factory.mktemp("pages")
    asked = {
        "list": (shipped, "vascular clamps", Wishes(date=DATE)),
        "large": (shipped, "jointed instruments or retractors", Wishes(date=DATE)),
        "compare": (shipped, "compare Kelly forceps and Crile forceps", Wishes(date=DATE, cover="facts")),
        "grouped": (shipped, "scissors", Wishes(date=DATE, group="curvature", cover="names")),
        "hostile": (hostile, "clamps", Wishes(date=DATE)),
    }
    out = {}
    for name, (catalogue, question, wishes) in asked.items():
        out[name] = folder / f"{name}.html"
        out[name].write_bytes(handout_bytes(make_handout(catalogue, question, wishes), ".html"))
    return out


def open_page(browser, file: Path, *, width: int = 1280, height: int = 900, dark: bool = False, mobile: bool = False) -> None:
    size = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": mobile}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "", "features": [scheme]})
    browser.get(file.as_uri())


def all_of(browser, selector: str):
    return browser.find_elements(By, selector)


def one(browser, selector: str):
    return browser.find_element(By, selector)


def seen(browser, selector: str):
    return [e for e in all_of(browser, selector) if e.is_displayed()]


# --- opening ----------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("name", ["list", "large", "compare", "grouped", "hostile"])
def test_opens_without_an_error_and_without_a_request(browser, pages, name) -> None:
    for kind in ("browser", "performance"):
        browser.get_log(kind)
    open_page(browser, pages[name])
    assert [e for e in browser.get_log("browser") if e["level"] != "INFO"] == []
    events = [json.loads(e["message"])["message"] for e in browser.get_log("performance")]
    asked = [e["params"]["request"]["url"] for e in events if e["method"] == "Network.requestWillBeSent"]
    assert [u for u in asked if not u.startswith("data:")] == [pages[name].as_uri()]


def test_more_than_250_patterns_take_at_most_three_megabytes(pages, browser) -> None:
    open_page(browser, pages["large"])
    assert len(all_of(browser, ".card")) >= 250
    assert pages["large"].stat().st_size <= 3_000_000


def test_policy_lets_no_other_script_run(browser, pages) -> None:
    open_page(browser, pages["list"])
    refused = browser.execute_async_script("""
        const done = arguments[0], refused = [];
        document.addEventListener("securitypolicyviolation", (e) => refused.push(e.effectiveDirective));
        const add = (tag, content) => document.body.append(Object.assign(document.createElement(tag), content));
        add("script", { textContent: "window.taken = 1" });
        add("style", { textContent: "body { display: none }" });
        add("img", { src: "http://127.0.0.1:9/x.png" });
        add("iframe", { src: "http://127.0.0.1:9/" });
        setTimeout(() => done(refused.concat(window.taken || [])), 500);
    """)
    assert {"script-src-elem", "style-src-elem", "img-src", "frame-src"} <= set(refused)
    assert 1 not in refused
    browser.get_log("browser")  # the refusals are reported there


def test_hostile_labels_are_text(browser, pages) -> None:
    open_page(browser, pages["hostile"])
    assert len(all_of(browser, ".card")) == len(HOSTILE)
    assert browser.title == "Clamps"
    assert len(all_of(browser, "script")) == 1
    assert not all_of(browser, "img, iframe, object, main a[href^=javascript]")
    shown = {e.text for e in all_of(browser, ".card h3 bdi")}
    assert HOSTILE["Script"] in shown
    assert HOSTILE["Image"] in shown
    assert HOSTILE["Quotes"] in shown
    assert not any(c in "".join(shown) for c in "\x1b\x07\u202e\u200b\u2028\x00")


# --- accessibility ----------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("name", ["list", "compare", "grouped"])
@pytest.mark.parametrize("width", [1280, 360])
def test_accessible(browser, pages, name, dark, width) -> None:
    from axe_core_python.selenium import Axe

    open_page(browser, pages[name], dark=dark, width=width)
    found = Axe().run(browser)["violations"]
    assert [(v["id"], v["nodes"][0]["html"][:200]) for v in found] == []


def test_headings_go_down_one_level_at_a_time(browser, pages) -> None:
    for name in ("list", "grouped", "compare"):
        open_page(browser, pages[name])
        levels = [int(e.tag_name[1]) for e in all_of(browser, "h1, h2, h3, h4")]
        assert levels[0] == 1
        assert levels.count(1) == 1
        assert all(b - a <= 1 for a, b in itertools.pairwise(levels))


# --- use --------------------------------------------------------------------------------------------------------------
def test_filter(browser, pages) -> None:
    open_page(browser, pages["list"])
    cards = all_of(browser, ".card")
    one(browser, "#filter").send_keys("bulldog Straight")
    left = seen(browser, ".card")
    assert 0 < len(left) < len(cards)
    assert all("bulldog" in c.text.lower() and "straight" in c.text.lower() for c in left)
    assert one(browser, "#count").text == f"{len(left)} of {len(cards)} shown"
    one(browser, "#filter").clear()
    one(browser, "#filter").send_keys("no such word")
    assert seen(browser, ".card") == []


def test_order(browser, pages) -> None:
    open_page(browser, pages["list"])

    def names() -> list[str]:
        return [e.text for e in all_of(browser, ".list:first-of-type .card bdi")]

    given = names()
    select = one(browser, "#order")
    select.find_element(By, "option[value=name]").click()
    assert names() == sorted(given, key=str.casefold)
    select.find_element(By, "option[value=shuffled]").click()
    assert sorted(names()) == sorted(given)
    select.find_element(By, "option[value=given]").click()
    assert names() == given


def test_cover_and_show_by_keys(browser, pages) -> None:
    from selenium.webdriver.common.keys import Keys

    open_page(browser, pages["list"])
    assert seen(browser, ".show") == []
    one(browser, "input[value=names]").click()
    assert seen(browser, ".card bdi") == []
    buttons = seen(browser, ".show")
    first = buttons[0]
    assert first.text == "Show the name"
    first.send_keys(Keys.ENTER)
    assert first.get_attribute("aria-expanded") == "true"
    shown = one(browser, f"#{first.get_attribute('aria-controls')}")
    assert shown.is_displayed()
    assert shown.text
    assert browser.switch_to.active_element == first
    first.send_keys(Keys.ARROW_DOWN)
    second = browser.switch_to.active_element
    assert second != first
    assert second.get_attribute("aria-expanded") == "false"
    second.send_keys(Keys.SPACE)
    assert second.get_attribute("aria-expanded") == "true"
    second.send_keys(Keys.SPACE)
    assert second.get_attribute("aria-expanded") == "false"
    one(browser, "#all").click()
    assert {b.get_attribute("aria-expanded") for b in seen(browser, ".show")} == {"true"}
    one(browser, "#all").click()
    assert {b.get_attribute("aria-expanded") for b in seen(browser, ".show")} == {"false"}
    one(browser, "input[value=facts]").click()
    assert all(e.is_displayed() for e in all_of(browser, ".card bdi"))
    assert seen(browser, ".fields .secret") == []
    one(browser, "input[value=nothing]").click()
    assert seen(browser, ".show") == []


def test_covered_pages_start_covered(browser, pages) -> None:
    open_page(browser, pages["grouped"])
    assert seen(browser, ".card bdi") == []
    open_page(browser, pages["compare"])
    assert seen(browser, ".answer table") == []
    assert [e.text for e in seen(browser, ".card bdi")] == ["Kelly forceps", "Crile forceps"]


def test_show_by_touch_on_a_phone(browser, pages) -> None:
    open_page(browser, pages["grouped"], width=360, height=740, mobile=True)
    browser.execute_cdp_cmd("Emulation.setTouchEmulationEnabled", {"enabled": True})
    try:
        button = seen(browser, ".show")[0]
        browser.execute_script("arguments[0].scrollIntoView({block: 'center', behavior: 'instant'})", button)
        box = browser.execute_script(
            "const b = arguments[0].getBoundingClientRect(); return [b.x + b.width / 2, b.y + b.height / 2, b.height]", button
        )
        assert box[2] >= 44
        browser.execute_cdp_cmd("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": box[0], "y": box[1]}]})
        browser.execute_cdp_cmd("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
        assert one(browser, f"#{button.get_attribute('aria-controls')}").is_displayed()
    finally:
        browser.execute_cdp_cmd("Emulation.setTouchEmulationEnabled", {"enabled": False})


@pytest.mark.parametrize("name", ["list", "compare", "grouped", "hostile"])
def test_nothing_is_wider_than_a_phone(browser, pages, name) -> None:
    open_page(browser, pages[name], width=360, height=740, mobile=True)
    wide = browser.execute_script("return document.documentElement.scrollWidth")
    assert wide <= 360


def test_notes_stay_when_the_page_is_opened_again(browser, pages) -> None:
    open_page(browser, pages["list"])
    area = all_of(browser, "textarea")[2]
    area.send_keys("my own words <b>")
    open_page(browser, pages["list"])
    assert all_of(browser, "textarea")[2].get_property("value") == "my own words <b>"
    assert all_of(browser, "textarea")[1].get_property("value") == ""


def test_everything_can_be_read_without_the_script(browser, pages) -> None:
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        open_page(browser, pages["compare"])
        assert all(e.is_displayed() for e in all_of(browser, ".secret"))
        assert not one(browser, ".tools").is_displayed()
    finally:
        browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})


def test_print(browser, pages) -> None:
    import base64

    import pypdfium2

    open_page(browser, pages["grouped"])
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    assert not one(browser, ".tools").is_displayed()
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    data = base64.b64decode(browser.execute_cdp_cmd("Page.printToPDF", {"paperWidth": 8.27, "paperHeight": 11.69})["data"])
    document = pypdfium2.PdfDocument(data)
    text = "".join(page.get_textpage().get_text_bounded() for page in document)
    assert "licensed practice decide" in text
    assert "Metzenbaum" not in text.split("Signs")[0]  # covered names stay covered on paper


def test_the_check_of_accessibility_can_fail(browser, pages) -> None:
    from axe_core_python.selenium import Axe

    open_page(browser, pages["list"])
    browser.execute_script("document.querySelector('main').append(document.createElement('img'), document.createElement('h6'))")
    assert "image-alt" in {v["id"] for v in Axe().run(browser)["violations"]}
