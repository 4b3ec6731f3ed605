"""What every page of the demo shop has in common: its pictures, its figures and their spelling."""

import gzip
import re
from collections import Counter
from itertools import combinations

import pytest
from django.test import Client
from django.urls import reverse
from lxml import html

from inventory.catalog.models import Application
from inventory.reorder.models import PlanLine
from inventory.shop.models import PressureUnit, ShopSettings
from tests.shopparts.test_demo_road import asked_pages, own_pages, signed_in

A_NAME = 2
MOST_BYTES = 60_000
# The style sheet's size of a chart's words on a phone; a letter is a little over half as wide
# (from memory, of the sans-serif fonts of the usual systems).
LETTERS_PX, LETTER_WIDE = 13, 0.56
ONLY_A_NUMBER = re.compile(r"[+−]?[$€£]?\d[\d,]*(\.\d+)?%?")
REGIONS = "//section[@aria-label or @aria-labelledby] | //*[@role='region']"
NEVER_SHOWN = re.compile(
    r"\b(None|nan|NaN|inf|undefined|null|N/A)\b(?! (here|left|on|of|is|yet|in)|\.)"
)


def few_of_each():
    """Two pages of every address, as the owner sees them, who sees all."""
    seen: Counter[str] = Counter()
    for name, path in (*own_pages(), *asked_pages()):
        seen[name] += 1
        if seen[name] <= A_NAME:
            yield path
    most_asked = PlanLine.objects.latest("asks")
    yield reverse("inventory:plan_why", args=[most_asked.pk])


@pytest.fixture(scope="class")
def shown(demo):
    """Every page parsed, by its path."""
    client = signed_in(Client(), "ruth")
    answers = {path: client.get(path, follow=True) for path in few_of_each()}
    found = {
        path: html.fromstring(answer.content.decode())
        for path, answer in answers.items()
        if answer.status_code == 200
    }
    assert len(found) > 90
    return found


def each(shown, xpath):
    return [(path, node) for path, page in shown.items() for node in page.xpath(xpath)]


def words(node):
    return " ".join(node.text_content().split())


def name_of(region, page):
    """As a screen reader says it, of what names itself or is named by its heading."""
    heading = region.get("aria-labelledby")
    return words(page.get_element_by_id(heading)) if heading else region.get("aria-label")


def box(node):
    """Left, right, top, bottom of a chart's words on a phone."""
    wide = LETTERS_PX * LETTER_WIDE * len(node.text_content())
    x, y = float(node.get("x")), float(node.get("y"))
    left = {"start": x, "middle": x - wide / 2, "end": x - wide}[node.get("class").split()[1]]
    return left, left + wide, y - 0.75 * LETTERS_PX, y + 0.1 * LETTERS_PX


def touch(one, other):
    (left, right, top, bottom), (left_2, right_2, top_2, bottom_2) = box(one), box(other)
    return left < right_2 and left_2 < right and top < bottom_2 and top_2 < bottom


@pytest.mark.xdist_group("demo")
@pytest.mark.django_db
class TestDemoLook:
    def test_every_picture_says_what_it_shows_and_has_its_figures_beneath(self, shown):
        figures = each(shown, "//figure")
        assert len({words(figure.find("figcaption")) for _, figure in figures}) > 12
        for path, figure in figures:
            (drawn,) = figure.xpath(".//svg")
            title, told = drawn.find("title").text, drawn.find("desc").text
            assert title == words(figure.find("figcaption")), path
            assert re.search(r"\d", told), (path, told)
            assert words(figure.find("details/summary")) == "Show figures"
            rows = figure.xpath("details//tbody/tr")
            heads = figure.xpath("details//thead//th")
            assert rows, path
            assert {len(row) for row in rows} == {len(heads)}, path
            assert all(words(head) for head in heads), path

    def test_every_axis_has_its_unit_and_no_words_touch_on_a_phone(self, shown):
        for path, drawn in each(shown, "//figure/svg"):
            names = drawn.xpath(".//text[starts-with(@class, 'label')]")
            assert names, path
            assert all(words(name) for name in names if float(name.get("y")) < 100), path
            placed = [node for node in drawn.xpath(".//text") if words(node)]
            assert [
                (path, words(a), words(b)) for a, b in combinations(placed, 2) if touch(a, b)
            ] == []

    def test_a_share_is_written_in_one_way(self, shown):
        texts = {path: words(page.find("body")) for path, page in shown.items()}
        assert any(re.search(r"\d%", text) for text in texts.values())
        apart = {path: re.findall(r".{12}\d\s%", text) for path, text in texts.items()}
        assert {path: found for path, found in apart.items() if found} == {}

    def test_numbers_stand_at_the_right_and_leave_their_unit_to_the_head(self, shown):
        numbers = [
            (path, cell)
            for path, cell in each(shown, "//main//table[thead]//td")
            if ONLY_A_NUMBER.fullmatch(words(cell))
        ]
        assert len(numbers) > 1000
        for path, cell in numbers:
            assert "number" in cell.get("class", ""), (path, words(cell))
            assert "%" not in words(cell), (path, words(cell))

    def test_what_is_not_known_is_said_and_never_the_language_of_a_machine(self, shown):
        for path, page in shown.items():
            for node in page.xpath("//main//*[not(self::option)]/text()"):
                assert not NEVER_SHOWN.search(node), (path, node)

    def test_no_two_regions_of_a_page_have_one_name(self, shown):
        for path, page in shown.items():
            names = [name_of(region, page) for region in page.xpath(REGIONS)]
            assert [name for name, count in Counter(names).items() if count > 1] == [], path

    def test_each_page_has_one_heading_that_says_something(self, shown):
        for path, page in shown.items():
            (head,) = page.xpath("//h1")
            assert len(words(head).split()) > 1, path

    @pytest.mark.parametrize("unit", PressureUnit)
    def test_pressures_are_in_the_unit_of_the_gauge(self, demo, client, unit):
        ShopSettings.objects.update(pressure_unit=unit)
        entry = Application.objects.exclude(placard_front_kpa=None)[0]
        page = signed_in(client, "tova").get(reverse("fit_answer", args=[entry.pk]))
        text = words(html.fromstring(page.content.decode()).find(".//main"))
        units = "|".join(one.label for one in PressureUnit)
        assert set(re.findall(rf"\d ({units})\b", text)) == {unit.label}

    def test_days_and_money_are_written_as_the_shop_writes_them(self, demo, client):
        ShopSettings.objects.update(currency="EUR", date_order="d.m.Y")
        page = signed_in(client, "ruth").get(reverse("jobs:money"))
        text = words(html.fromstring(page.content.decode()).find(".//main"))
        assert "€" in text
        assert "$" not in text
        assert re.search(r"\b\d\d\.\d\d\.\d{4}\b", text)
        assert not re.search(r"\b\d{4}-\d\d-\d\d\b", text)

    def test_no_page_weighs_more_than_a_bad_wifi_carries(self, shown):
        """Compressed as it is sent; what all pages share is kept by the browser."""
        weighed = {path: len(gzip.compress(html.tostring(page))) for path, page in shown.items()}
        heaviest = max(weighed, key=lambda path: weighed[path])
        assert 5_000 < weighed[heaviest] < MOST_BYTES, heaviest

    def test_pages_are_sent_compressed(self, demo, client):
        page = signed_in(client, "ruth").get("/", headers={"Accept-Encoding": "gzip"})
        assert page.headers["Content-Encoding"] == "gzip"
        assert "Accept-Encoding" in page.headers["Vary"]
