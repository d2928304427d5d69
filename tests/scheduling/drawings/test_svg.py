"""The pieces of SVG."""

from __future__ import annotations

from xml.etree import ElementTree

from scheduling.drawings.svg import box, drawing, tag, text


def test_attributes_are_written_as_svg_has_them() -> None:
    assert tag("rect", x=1.0, class_="stay", text_anchor="end") == '<rect x="1" class="stay" text-anchor="end"/>'


def test_numbers_are_short() -> None:
    assert tag("line", x1=0.0, x2=12.34, y1=100.0) == '<line x1="0" x2="12.3" y1="100"/>'


def test_text_and_attributes_are_escaped() -> None:
    assert "<script>" not in text(0, 0, "<script>alert(1)</script>")
    assert tag("g", id='"><x') == '<g id="&quot;&gt;&lt;x"/>'


def test_a_box_is_never_of_negative_size() -> None:
    assert 'width="0"' in box(5, 5, -3, 4, "stay")


def test_a_drawing_has_a_name_and_a_description_for_screen_readers() -> None:
    root = ElementTree.fromstring(drawing("one", 10, 20, "Wind & weather", "It <blows>."))
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == "one-title one-desc"
    assert [child.text for child in root[:2]] == ["Wind & weather", "It <blows>."]
    assert root.get("viewBox") == "0 0 10 20"
