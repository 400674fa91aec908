"""Elements of SVG as text."""

from __future__ import annotations

from html import escape


def number(value: float) -> str:
    """Write a coordinate to a tenth of a pixel.

    >>> number(12.04), number(-0.04)
    ('12', '0')
    """
    return f"{round(value, 1) + 0:g}"


def element(name: str, *content: str, **attributes: str | float | None) -> str:
    """Write an element; its content is SVG already, its attributes are escaped here.

    ``class_`` stands for class; an underscore within a name for a hyphen; None leaves an
    attribute out; numbers are written as coordinates.

    >>> element("line", x1=0, x2=4.26, class_="joint")
    '<line x1="0" x2="4.3" class="joint"/>'
    """
    written = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{_value(value)}"'
        for key, value in attributes.items()
        if value is not None
    )
    inner = "".join(content)
    return f"<{name}{written}>{inner}</{name}>" if inner else f"<{name}{written}/>"


def text(words: str, x: float, y: float, **attributes: str | float | None) -> str:
    """Write a line of text, escaped."""
    return element("text", escape(words, quote=False), x=x, y=y, **attributes)


def _value(value: str | float) -> str:
    return escape(value) if isinstance(value, str) else number(value)
