"""Markup that fetches nothing and runs nothing, whatever a notebook holds."""

from __future__ import annotations

import base64
import mimetypes
import re
from html import escape
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote

#: Elements that are dropped with all they hold.
_DROPPED = {
    "script", "iframe", "frameset", "noframes", "noembed", "xmp", "plaintext", "annotation-xml", "object",
    "applet", "template", "noscript", "textarea", "select", "button", "audio", "video", "canvas", "title",
    "head", "foreignobject", "animate", "set",
}  # fmt: skip
#: Elements without an end that are dropped.
_DROPPED_EMPTY = {"link", "meta", "base", "embed", "input", "source", "track", "frame", "param"}
#: Elements that only hold others: their tags are dropped.
_OPENED = {"html", "body", "form"}
_EMPTY = {"br", "hr", "img", "wbr", "col"}
_NAME = re.compile(r"[a-z][a-z0-9:._-]*")
_ADDRESSES = {"href", "src", "xlink:href", "action", "formaction", "poster", "background", "data", "cite"}
_FETCHES = re.compile(r"@import|expression\s*\(|url\s*\((?!\s*['\"]?\s*(?:#|data:image/))", re.I)
_LARGEST_PICTURE = 20_000_000


def clean(markup: str, folder: Path) -> str:
    """Return markup as it may stand in a page that is read offline.

    Scripts, forms, frames and event handlers are dropped, and every address
    but those inside the page, pictures in the markup itself and links to click
    on. A picture from a file below `folder` is taken into the page; one from
    anywhere else is replaced by its text equivalent.

    Parameters
    ----------
    markup : str
    folder : Path
        Where the notebook lies.
    """
    cleaner = _Cleaner(folder)
    cleaner.feed(markup)
    cleaner.close()
    return "".join(cleaner.out)


class _Cleaner(HTMLParser):
    def __init__(self, folder: Path):
        super().__init__(convert_charrefs=False)
        self.folder = folder
        self.out: list[str] = []
        self.dropping: list[str] = []
        self.svg = 0

    def handle_starttag(self, tag, attrs):
        self._start(tag, attrs, False)

    def handle_startendtag(self, tag, attrs):
        self._start(tag, attrs, True)

    def _start(self, tag: str, attrs, closed: bool) -> None:
        if tag in _DROPPED or (tag == "style" and not self.svg):
            if not closed:
                self.dropping.append(tag)
            return
        if self.dropping or tag in _DROPPED_EMPTY or tag in _OPENED or not _NAME.fullmatch(tag):
            return
        if tag == "img":
            self.out.append(self._picture(dict(attrs)))
            return
        if tag == "svg" and not closed:
            self.svg += 1
        kept = "".join(
            f" {name}" if value is None else f' {name}="{escape(value)}"'
            for name, value in attrs
            if _harmless(tag, name, value or "")
        )
        if tag == "details":  # paper cannot be clicked on
            kept = " open"
        self.out.append(f"<{tag}{kept}{'/' if closed and tag not in _EMPTY else ''}>")

    def handle_endtag(self, tag):
        if self.dropping:
            if tag == self.dropping[-1]:
                self.dropping.pop()
            return
        if (
            not _NAME.fullmatch(tag)
            or tag in _OPENED
            or tag in _EMPTY
            or tag in _DROPPED
            or tag in _DROPPED_EMPTY
        ):
            return
        if tag == "style" and not self.svg:
            return
        if tag == "svg":
            self.svg -= 1
        self.out.append(f"</{tag}>")

    def handle_data(self, data):
        if not self.dropping:
            # A "<" left over begins no tag: what follows it was read as text.
            self.out.append("" if self.svg and _FETCHES.search(data) else data.replace("<", "&lt;"))

    def handle_entityref(self, name):
        if not self.dropping:
            self.out.append(f"&{name};")

    def handle_charref(self, name):
        if not self.dropping:
            self.out.append(f"&#{name};")

    def _picture(self, attrs: dict[str, str | None]) -> str:
        alt = (attrs.get("alt") or "").strip()
        source = (attrs.get("src") or "").strip()
        data = (
            source if re.match(r"data:image/(png|jpeg|gif|webp|svg\+xml)[;,]", source) else self._file(source)
        )
        if not data:
            return f"<em>[picture: {escape(alt or 'not in the workbook')}]</em>"
        sizes = "".join(
            f' {k}="{escape(attrs[k])}"'
            for k in ("width", "height")
            if re.fullmatch(r"[\d.]+%?", attrs.get(k) or "")
        )
        return f'<img src="{escape(data)}" alt="{escape(alt)}"{sizes}>'

    def _file(self, source: str) -> str:
        """Return a picture beside the workbook as a data address; "" when there is none."""
        if not source or re.match(r"[a-z][a-z0-9+.-]*:|//", source, re.I):
            return ""
        root = self.folder.resolve()
        path = (root / unquote(source.split("#")[0].split("?")[0])).resolve()
        kind = mimetypes.guess_type(path.name)[0] or ""
        if not (path.is_relative_to(root) and kind.startswith("image/") and path.is_file()):
            return ""
        if path.stat().st_size > _LARGEST_PICTURE:
            return ""
        return f"data:{kind};base64,{base64.b64encode(path.read_bytes()).decode()}"


def _harmless(tag: str, name: str, value: str) -> bool:
    if (
        not _NAME.fullmatch(name)
        or name.startswith("on")
        or name
        in (
            "srcset",
            "srcdoc",
            "ping",
            "autofocus",
            "contenteditable",
            "target",
        )
    ):
        return False
    if name == "style":
        return not _FETCHES.search(value)
    if name in _ADDRESSES:
        address = re.sub(r"[\s\x00-\x1f]", "", value).lower()
        if address.startswith("#"):
            return True
        if tag == "a" and name == "href":
            return address.startswith(("https://", "http://", "mailto:"))
        return tag == "image" and address.startswith(("data:image/png", "data:image/jpeg"))
    return not _FETCHES.search(value)
