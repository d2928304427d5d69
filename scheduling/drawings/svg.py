"""The few pieces of SVG that every drawing is made of."""

from __future__ import annotations

from html import escape

HATCH = (
    '<pattern id="{name}-hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<line x1="0" y1="0" x2="0" y2="6" class="hatch"/></pattern>'
)


def tag(name: str, *inside: str, **attributes: object) -> str:
    """An element. `inside` is markup already; attribute values are escaped. `class_` gives class, `_` becomes `-`."""
    written = "".join(f' {key.strip("_").replace("_", "-")}="{_value(value)}"' for key, value in attributes.items())
    return f"<{name}{written}>{''.join(inside)}</{name}>" if inside else f"<{name}{written}/>"


def text(x: float, y: float, words: str, class_: str = "", anchor: str = "start") -> str:
    """A line of text, escaped."""
    return tag("text", escape(words), x=x, y=y, class_=class_, text_anchor=anchor)


def line(x1: float, y1: float, x2: float, y2: float, class_: str) -> str:
    """A straight line."""
    return tag("line", x1=x1, y1=y1, x2=x2, y2=y2, class_=class_)


def box(x: float, y: float, width: float, height: float, class_: str, *inside: str, **more: object) -> str:
    """A rectangle; `inside` may hold a title element."""
    return tag("rect", *inside, x=x, y=y, width=max(0.0, width), height=max(0.0, height), class_=class_, **more)


def title(words: str) -> str:
    """What a pointer resting on the element shows, and a screen reader says."""
    return tag("title", escape(words))


def drawing(name: str, width: float, height: float, heading: str, description: str, *inside: str) -> str:
    """A whole drawing with its name and description for screen readers. `name` is unique on the page."""
    return tag(
        "svg",
        tag("title", escape(heading), id=f"{name}-title"),
        tag("desc", escape(description), id=f"{name}-desc"),
        tag("defs", HATCH.format(name=escape(name))),
        *inside,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {_value(width)} {_value(height)}",
        width=width,
        height=height,
        role="img",
        aria_labelledby=f"{name}-title {name}-desc",
        class_="drawing",
    )


def _value(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.1f}".rstrip("0").rstrip(".")
    return escape(str(value))
