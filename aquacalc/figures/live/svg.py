"""A figure as SVG, again and again: only what changed since the last time is written anew.

matplotlib marks an artist as stale when it changes. Every artist's piece of SVG
is kept until then, which makes a new state of a figure several times faster to
get than any picture of its pixels.
"""

from __future__ import annotations

import itertools
import re
from html import escape

import numpy as np
from matplotlib.backend_bases import RendererBase
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.colors import to_hex
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch
from matplotlib.path import Path
from matplotlib.text import Text
from matplotlib.transforms import Affine2D

from aquacalc.figures.picture import NARROWEST
from aquacalc.figures.style import DPI, FAMILY

#: Side of a hatch's tile, px.
TILE = 72
#: Texts whose layout is remembered.
LAYOUTS = 500
_FAMILIES = f"'{FAMILY}', Verdana, Arial, sans-serif"
_VERTICES = {Path.MOVETO: ("M", 1), Path.LINETO: ("L", 1), Path.CURVE3: ("Q", 2), Path.CURVE4: ("C", 3)}
_ANCHORS = {"left": "start", "center": "middle", "right": "end"}
_DIGIT = re.compile(r"\d")
_names = itertools.count(1)


class Live:
    """Writes one figure as SVG.

    Parameters
    ----------
    figure : Figure
        Its axes must stay where they are.
    """

    def __init__(self, figure: Figure):
        figure.set_dpi(DPI)
        self.figure = figure
        width, height = figure.get_size_inches() * DPI
        self.pen = _Pen(float(width), float(height), f"live{next(_names)}")
        self._kept: dict = {}
        self._limits: dict = {}
        self._layouts: dict = {}
        figure.draw(self.pen)  # places titles and labels once

    def svg(self, alt: str) -> str:
        """Return the figure as it is now.

        Parameters
        ----------
        alt : str
            Its text equivalent.
        """
        kept, pieces = {}, []
        for axes in self.figure.axes:
            limits = (axes.viewLim.bounds, axes.bbox.bounds)
            moved = self._limits.get(axes) != limits
            self._limits[axes] = limits
            for artist in sorted(axes.get_children(), key=lambda a: a.get_zorder()):
                if not artist.get_visible():
                    continue
                outline = artist.get_path() if isinstance(artist, PathPatch) else None
                before, piece = self._kept.get(artist, (None, ""))
                # A PathPatch given another path does not call itself stale.
                if artist.stale or moved or artist not in self._kept or outline is not before:
                    piece = self._words(artist) if type(artist) is Text else self._drawn(artist)
                kept[artist] = (outline, piece)
                pieces.append(piece)
        self._kept = kept
        pen = self.pen
        # Of fixed shape and contained, so that the page around it need not be laid out again.
        size = f"width:100%;min-width:{round(NARROWEST * pen.width)}px"
        style = f"{size};aspect-ratio:{pen.width:g}/{pen.height:g};contain:strict;background:#fff"
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {pen.width:g} {pen.height:g}" role="img" '
            f'aria-label="{escape(alt)}" font-family="{_FAMILIES}" style="display:block;{style}">'
            f"<defs>{''.join(pen.defs.values())}</defs>{''.join(pieces)}</svg>"
        )

    def _drawn(self, artist) -> str:
        self.pen.out = []
        artist.draw(self.pen)
        return "".join(self.pen.out)

    def _words(self, text: Text) -> str:
        """Write a text. Where its lines stand about its anchor is found out once: that takes the time.

        All digits are equally wide and high, so that another number stands where the last one did.
        """
        font, words = text.get_fontproperties(), text.get_text()
        if not words:
            return ""
        key = (
            _DIGIT.sub("0", words), text.get_color(), font.get_size(), font.get_weight(), text.get_rotation(),
            text.get_horizontalalignment(), text.get_verticalalignment(),
        )  # fmt: skip
        x0, y0 = text.get_transform().transform(text.get_unitless_position())
        if key not in self._layouts:
            if len(self._layouts) >= LAYOUTS:
                self._layouts.clear()
            self.pen.lines = []
            self._drawn(text)
            self._layouts[key] = [(x - x0, y + y0, angle, look) for x, y, angle, look in self.pen.lines]
        text.stale = False
        lines = zip(words.split("\n"), self._layouts[key], strict=True)
        return "".join([_line(x0 + x, y - y0, angle, look, said) for said, (x, y, angle, look) in lines])


class _Pen(RendererBase):
    """Writes what artists draw as SVG elements into `out`, and what they share into `defs`."""

    def __init__(self, width: float, height: float, name: str):
        super().__init__()
        self.width, self.height, self.name = width, height, name
        self.dpi = DPI
        self.out: list[str] = []
        self.lines: list[tuple[float, float, float, str]] = []  # places and looks of lines of text
        self.defs: dict = {}
        self._clips: dict = {}
        self._type = RendererAgg(1, 1, DPI)
        self._flip = Affine2D().scale(1.0, -1.0).translate(0.0, height)

    def points_to_pixels(self, points):
        return points * DPI / 72.0

    def get_canvas_width_height(self):
        return self.width, self.height

    def get_text_width_height_descent(self, s, prop, ismath):
        return self._type.get_text_width_height_descent(s, prop, ismath)

    def draw_image(self, gc, x, y, im, transform=None):
        raise NotImplementedError("figures that are shown live hold no images")

    def draw_path(self, gc, path, transform, rgbFace=None):
        outline = _outline(path, transform + self._flip)
        if not outline:
            return
        style = self._stroke(gc)
        fill = "none"
        if gc.get_hatch():
            fill = f"url(#{self._hatch(gc, rgbFace)})"
        elif rgbFace is not None:
            fill = to_hex(rgbFace[:3])
            alpha = rgbFace[3] if len(rgbFace) == 4 and not gc.get_forced_alpha() else gc.get_alpha()
            if alpha < 1.0:
                style += f' fill-opacity="{alpha:g}"'
        elif not style:
            return
        self.out.append(f'<path d="{outline}" fill="{fill}"{style}{self._clip(gc)}/>')

    def draw_markers(self, gc, marker_path, marker_trans, path, trans, rgbFace=None):
        points = (trans + self._flip).transform(path.vertices)
        box = marker_path.get_extents(marker_trans)
        if gc.get_linewidth() == 0.0 and marker_path.codes is not None and len(marker_path.codes) > 20:
            dots = "".join([f"M{x} {y}h0" for x, y in np.round(points, 1).tolist()])
            self.out.append(
                f'<path d="{dots}" fill="none" stroke="{to_hex(rgbFace[:3])}" stroke-width="{box.width:.2f}" '
                f'stroke-linecap="round"{self._clip(gc)}/>'
            )
            return
        for x, y in points:
            self.draw_path(gc, marker_path, marker_trans + Affine2D().translate(x, self.height - y), rgbFace)

    def draw_path_collection(
        self, gc, master_transform, paths, all_transforms, offsets, offset_trans, facecolors, edgecolors,
        linewidths, linestyles, antialiaseds, urls, offset_position, **more,
    ):  # fmt: skip
        plain = len(facecolors) == 0 and len(all_transforms) == 0 and not np.any(offsets)
        if not plain or len(edgecolors) == 0:
            super().draw_path_collection(
                gc, master_transform, paths, all_transforms, offsets, offset_trans, facecolors, edgecolors,
                linewidths, linestyles, antialiaseds, urls, offset_position, **more,
            )  # fmt: skip
            return
        if len(paths) == 0:
            return
        # Lines that look alike become one element, and are placed all at once.
        flip, clip, elements = master_transform + self._flip, self._clip(gc), []
        placed = np.round(flip.transform(np.concatenate([p.vertices for p in paths])), 1).tolist()
        looks, begun = max(len(linewidths), len(linestyles), len(edgecolors)), 0
        for k, path in enumerate(paths):
            if k < looks:
                gc.set_linewidth(linewidths[k % len(linewidths)])
                gc.set_dashes(*linestyles[k % len(linestyles)])
                gc.set_foreground(edgecolors[k % len(edgecolors)])
                style = self._stroke(gc)
            else:
                style = elements[k - looks][0]
            end = begun + len(path.vertices)
            elements.append((style, _polyline(placed[begun:end])))
            begun = end
        for style, alike in itertools.groupby(elements, lambda e: e[0]):
            if style:
                self.out.append(f'<path d="{"".join(d for _, d in alike)}" fill="none"{style}{clip}/>')

    def draw_text(self, gc, x, y, s, prop, angle, ismath=False, mtext=None):
        anchor = ""
        if mtext is not None and angle == 0.0:
            # Anchored as the label itself is, so that another font does not move its middle or end.
            x = mtext.get_transform().transform(mtext.get_unitless_position())[0]
            place = _ANCHORS[mtext.get_horizontalalignment()]
            anchor = "" if place == "start" else f' text-anchor="{place}"'
        weight = ' font-weight="bold"' if prop.get_weight() == "bold" else ""
        size = self.points_to_pixels(prop.get_size_in_points())
        look = f' font-size="{size:.1f}"{weight}{anchor} fill="{to_hex(gc.get_rgb())}"'
        self.lines.append((x, y, angle, look))
        self.out.append(_line(x, y, angle, look, s))

    def _stroke(self, gc) -> str:
        width = gc.get_linewidth()
        colour = gc.get_rgb()
        alpha = gc.get_alpha() if gc.get_forced_alpha() else colour[3]
        if width <= 0.0 or alpha <= 0.0:
            return ""
        style = f' stroke="{to_hex(colour[:3])}" stroke-width="{self.points_to_pixels(width):.2f}"'
        if alpha < 1.0:
            style += f' stroke-opacity="{alpha:g}"'
        dashes = gc.get_dashes()[1]
        if dashes is not None:
            lengths = " ".join(f"{self.points_to_pixels(d):.1f}" for d in dashes)
            style += f' stroke-dasharray="{lengths}"'
        if gc.get_joinstyle() != "miter":
            style += f' stroke-linejoin="{gc.get_joinstyle()}"'
        cap = gc.get_capstyle()
        if cap != "butt":
            style += f' stroke-linecap="{"square" if cap == "projecting" else cap}"'
        return style

    def _clip(self, gc) -> str:
        box = gc.get_clip_rectangle()
        if box is None:
            return ""
        if box not in self._clips:  # the box of an axes, which stays where it is
            self._clips[box] = self._cut(box)
        return self._clips[box]

    def _cut(self, box) -> str:
        x, y, width, height = (round(v, 1) for v in box.bounds)
        key = ("clip", x, y, width, height)
        if key not in self.defs:
            name = f"{self.name}-{len(self.defs)}"
            top = round(self.height - y - height, 1)
            box = f'<rect x="{x}" y="{top}" width="{width}" height="{height}"/>'
            self.defs[key] = f'<clipPath id="{name}">{box}</clipPath>'
        return f' clip-path="url(#{self._id(key)})"'

    def _hatch(self, gc, face) -> str:
        ink = to_hex(gc.get_hatch_color()[:3])
        paper = "none" if face is None else to_hex(face[:3])
        key = ("hatch", gc.get_hatch(), ink, paper, gc.get_hatch_linewidth())
        if key not in self.defs:
            name = f"{self.name}-{len(self.defs)}"
            lines = _outline(gc.get_hatch_path(), Affine2D().scale(TILE, -TILE).translate(0.0, TILE))
            width = self.points_to_pixels(gc.get_hatch_linewidth())
            self.defs[key] = (
                f'<pattern id="{name}" patternUnits="userSpaceOnUse" width="{TILE}" height="{TILE}">'
                f'<rect width="{TILE}" height="{TILE}" fill="{paper}"/>'
                f'<path d="{lines}" stroke="{ink}" stroke-width="{width:.2f}" fill="none"/></pattern>'
            )
        return self._id(key)

    def _id(self, key) -> str:
        return self.defs[key].split('"', 2)[1]


def _line(x: float, y: float, angle: float, look: str, said: str) -> str:
    """Write a line of text."""
    turn = f' transform="rotate({-angle:g} {x:.1f} {y:.1f})"' if angle else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}"{turn}{look} xml:space="preserve">{escape(said, quote=False)}</text>'
    )


def _polyline(points: list[list[float]]) -> str:
    """Write points joined by straight lines as the `d` of SVG."""
    return "M" + "L".join([f"{x} {y}" for x, y in points]) if points else ""


def _outline(path: Path, transform) -> str:
    """Write a path as the `d` of SVG, to a tenth of a pixel."""
    path = transform.transform_path(path)
    vertices = np.round(path.vertices, 1).tolist()
    if path.codes is None:
        return _polyline(vertices)
    codes = path.codes.tolist()
    parts, k = [], 0
    while k < len(vertices):
        code = codes[k]
        if code == Path.CLOSEPOLY:
            parts.append("Z")
            k += 1
            continue
        if code == Path.STOP:
            break
        letter, count = _VERTICES[code]
        points = vertices[k : k + count]
        parts.append(letter + " ".join([f"{x} {y}" for x, y in points]))
        k += count
    return "".join(parts)
