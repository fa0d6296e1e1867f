"""Markup that fetches nothing and runs nothing, whatever a notebook holds."""

from __future__ import annotations

import base64
import mimetypes
import re
from html import unescape
from pathlib import Path
from urllib.parse import unquote

#: What may stand in a page; everything else goes, and what a script or a style holds goes with it.
_TAGS = """
a abbr article aside b bdi bdo blockquote br caption cite code col colgroup dd del details dfn div dl dt
em figcaption figure footer h1 h2 h3 h4 h5 h6 header hr i img ins kbd li main mark nav ol p pre q s samp
section small span strong sub summary sup table tbody td tfoot th thead time tr u ul var wbr svg g defs
clipPath pattern linearGradient radialGradient stop marker symbol use title desc path rect circle
ellipse line polyline polygon text tspan image math mrow mi mn mo ms mtext mspace mfrac msqrt mroot msub
msup msubsup munder mover munderover mtable mtr mtd mstyle mpadded mphantom mfenced menclose semantics
annotation
"""
TAGS = frozenset(_TAGS.split())
#: Attributes of any of them; addresses and styles are looked at one by one.
_ATTRIBUTES = """
id class style title role lang dir hidden tabindex open start reversed value colspan rowspan scope span
headers datetime alt src href xlink:href width height x y x1 y1 x2 y2 cx cy r rx ry d dx dy points
transform viewBox preserveAspectRatio version offset fill fill-opacity fill-rule stroke stroke-width
stroke-opacity stroke-dasharray stroke-dashoffset stroke-linecap stroke-linejoin stroke-miterlimit
opacity stop-color stop-opacity clip-path clip-rule clipPathUnits patternUnits patternTransform
patternContentUnits gradientUnits gradientTransform markerWidth markerHeight refX refY orient marker-
start marker-mid marker-end font-family font-size font-style font-weight text- anchor dominant-baseline
alignment-baseline letter-spacing rotate vector-effect paint-order visibility alttext display
displaystyle mathvariant stretchy fence form separator lspace rspace minsize maxsize columnalign
rowspacing columnspacing linethickness scriptlevel accent accentunder movablelimits symmetric depth
voffset encoding
"""
ATTRIBUTES = frozenset(_ATTRIBUTES.split())
#: Whatever these hold is dropped with them.
HELD = frozenset(
    {"script", "style", "template", "noscript", "iframe", "object", "textarea", "select", "button"}
)
_FETCHES = re.compile(r"@import|expression\s*\(|url\s*\((?!\s*['\"]?\s*(?:#|data:image/))", re.I)
_PICTURE = re.compile(r"data:image/(png|jpeg|gif|webp|svg\+xml);base64,[A-Za-z0-9+/=\s]*")
_NO_PICTURE = re.compile(r'<img(?![^<]* src=")((?: [a-z:-]+="[^"]*")*)>')
_ALT = re.compile(r' alt="([^"]*)"')
_LARGEST_PICTURE = 20_000_000


def clean(markup: str, folder: Path) -> str:
    """Return markup as it may stand in a page that is read offline.

    Only elements and attributes known to be harmless stay, and of addresses
    only those inside the page, pictures in the markup itself and links to click
    on. A picture from a file below `folder` is taken into the page; one from
    anywhere else is replaced by its text equivalent.

    Parameters
    ----------
    markup : str
    folder : Path
        Where the notebook lies.

    Returns
    -------
    str

    Examples
    --------
    >>> clean('<p onclick="f()">Water<script>f()</script></p>', Path())
    '<p>Water</p>'
    """
    import nh3

    def kept(tag: str, name: str, value: str) -> str | None:
        if name in ("href", "xlink:href", "src"):
            return _address(tag, name, value, folder)
        return None if _FETCHES.search(value) else value

    markup = nh3.clean(
        markup,
        tags=set(TAGS),
        clean_content_tags=set(HELD),
        attributes={"*": set(ATTRIBUTES)},
        generic_attribute_prefixes={"aria-"},
        attribute_filter=kept,
        url_schemes={"http", "https", "mailto", "data"},
        set_tag_attribute_values={"details": {"open": ""}},  # paper cannot be clicked on
        link_rel=None,
    )
    return _NO_PICTURE.sub(_words, markup)


def _words(match: re.Match) -> str:
    alt = _ALT.search(match[1])
    return f"<em>[picture: {alt[1].strip() if alt and alt[1].strip() else 'not in the workbook'}]</em>"


def _address(tag: str, name: str, value: str, folder: Path) -> str | None:
    """Return an address that may stay, a picture's content in its place, or None."""
    address = re.sub(r"[\s\x00-\x1f]", "", unescape(value))
    if name == "src":
        if tag != "img":
            return None
        return value if _PICTURE.fullmatch(value.strip()) else _file(value.strip(), folder)
    if address.startswith("#"):
        return address
    if tag == "a" and address.lower().startswith(("https://", "http://", "mailto:")):
        return address
    return address if tag == "image" and _PICTURE.fullmatch(address) else None


def _file(source: str, folder: Path) -> str | None:
    """Return a picture beside the workbook as a data address; None when there is none."""
    if not source or re.match(r"[a-z][a-z0-9+.-]*:|//", source, re.I):
        return None
    root = folder.resolve()
    path = (root / unquote(source.split("#")[0].split("?")[0])).resolve()
    kind = mimetypes.guess_type(path.name)[0] or ""
    if not (path.is_relative_to(root) and kind.startswith("image/") and path.is_file()):
        return None
    if path.stat().st_size > _LARGEST_PICTURE:
        return None
    return f"data:{kind};base64,{base64.b64encode(path.read_bytes()).decode()}"
