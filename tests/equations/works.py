"""The works that values were taken from, and how a case names one.

A case says `cite(HI, "table 3.D.1", READ)`; our own arithmetic says
`own("how it follows")`, a fact of the trade `practice("what is said")`.
`refused` says what is wrong with a citation, and `test_cases.py` puts every
case to it: a work must be listed here with author and title, and a case must
name the section, table or example.
"""

from __future__ import annotations

from dataclasses import dataclass

from aquacalc.evidence.kinds import (
    LIBRARY,
    MEANING,
    MEMORY,
    OUTSIDE,
    OWN,
    PRACTICE,
    READ,
    RECOMPUTED,
    SECOND_HAND,
)


@dataclass(frozen=True)
class Work:
    """Something that can be looked up.

    Parameters
    ----------
    author, title : str
    published : str
        Where and when, or how it was reached.
    kinds : tuple of str
        What may be claimed of it; a case that claims more is refused.
    """

    author: str
    title: str
    published: str
    kinds: tuple[str, ...]


@dataclass(frozen=True)
class Cited:
    """Who gives a value: a work and the place in it, or no work; the kind; a remark."""

    work: Work | None
    section: str
    kind: str
    note: str = ""

    @property
    def text(self) -> str:
        """Write it in one line."""
        parts = [self.work.author, self.work.title, self.section] if self.work else []
        return ", ".join(p for p in (*parts, self.note) if p) + f" ({self.kind})"


def cite(work: Work, section: str, kind: str, note: str = "") -> Cited:
    """Name a work and the section, table, figure, equation or example in it."""
    return Cited(work, section, kind, note)


def own(note: str) -> Cited:
    """Say from what our own arithmetic starts; such a case is an identity."""
    return Cited(None, "", OWN, note)


def practice(note: str) -> Cited:
    """Say what the trade says, without a source."""
    return Cited(None, "", PRACTICE, note)


#: Textbooks whose worked examples were recomputed by others, openly, from the books' inputs.
COMPANION = "Python Textbook Companions, FOSSEE, IIT Bombay"


def _book(author: str, title: str, *more: str) -> Work:
    return Work(author, title, f"examples as recomputed in the {COMPANION}", (RECOMPUTED, *more))


def _companion(author: str, subject: str) -> Work:
    """Name a book by its companion, where the book's own title was not noted."""
    title = f"textbook of {subject}, by its Python Textbook Companion (FOSSEE, IIT Bombay)"
    return Work(author, title, "the companion was read, not the book", (RECOMPUTED,))


ABULENCIA = _book("J. P. Abulencia & L. Theodore", "Fluid Flow for the Practicing Chemical Engineer")
CENGEL = _book("Y. A. Çengel & J. M. Cimbala", "Fluid Mechanics: Fundamentals and Applications")
CHOUDHARY = _companion("Choudhary & Om Prakash", "fluid mechanics")
COULSON = _book("J. M. Coulson & J. F. Richardson", "Chemical Engineering, vol. 1")
DAS = _companion("B. M. Das", "geotechnical engineering")
DIGHE = _companion("Dighe", "fluid mechanics")
DOUGLAS = _book("J. F. Douglas, J. M. Gasiorek & J. A. Swaffield", "Fluid Mechanics")
MUNSON = _book("B. R. Munson, D. F. Young & T. H. Okiishi", "Fundamentals of Fluid Mechanics", MEMORY)
PARADISE = _companion("Paradise", "hydraulics")
SARKAR = _companion("Sarkar", "fluid mechanics")
SCHASCHKE = _book("C. Schaschke", "Fluid Mechanics: Worked Examples for Engineers")
SUBRAMANYA = _companion("K. Subramanya", "fluid mechanics")

HI = Work("Hydraulic Institute", "Engineering Data Book", "open on the web", (READ, MEMORY))
CRANE = Work(
    "Crane Co.",
    "Flow of Fluids through Valves, Fittings, and Pipe, Technical Paper 410",
    "its examples as stated in the documentation of fluids 1.3.1",
    (READ, SECOND_HAND, MEMORY),
)
PLUMBING = Work(
    "Plumbing-Heating-Cooling Contractors Association", "National Standard Plumbing Code", "2006", (READ,)
)
HILLS = Work(
    "P. D. Hills", "Designing Piping for Gravity Flow", "Chem. Eng., 1983; quoted by others", (SECOND_HAND,)
)
BRETHERTON = Work(
    "F. P. Bretherton", "The motion of long bubbles in tubes", "J. Fluid Mech. 10:166, 1961", (READ,)
)
IAPWS_97 = Work(
    "International Association for the Properties of Water and Steam",
    "Revised Release on the IAPWS Industrial Formulation 1997",
    "its check values as other libraries' tests have them",
    (SECOND_HAND,),
)
IDELCHIK = Work(
    "I. E. Idelchik", "Handbook of Hydraulic Resistance", "as a table of fluids 1.3.1", (SECOND_HAND,)
)
REGINA = Work("Math Central, University of Regina", "Quandaries and Queries", "open on the web", (READ,))
AGUACLARA = Work(
    "AguaClara", "open data on PVC pipe fittings, after ASTM D2466", "open on the web", (SECOND_HAND,)
)
DIN_8062 = Work(
    "DIN",
    "DIN 8062, Pipes of unplasticized polyvinyl chloride: dimensions",
    "listed by others",
    (SECOND_HAND,),
)

R_HYDRAULICS = Work("E. Maurer", "hydraulics, R package", "0.7.0, its documentation", (READ,))
DRMS = Work(
    "Colorado Division of Reclamation, Mining and Safety",
    "file 493542, culvert design by HDS-5",
    "open on the web",
    (READ,),
)
SANKS = Work("R. L. Sanks", "Pumping Station Design", "quoted by others", (SECOND_HAND,))
BENJAMIN = Work(
    "T. B. Benjamin", "Gravity currents and related phenomena", "J. Fluid Mech. 31, 1968", (MEMORY,)
)
ERGUN = Work(
    "S. Ergun",
    "Fluid flow through packed columns",
    "Chem. Eng. Prog. 48, 1952; quoted by others",
    (SECOND_HAND,),
)
HEATH = Work("R. C. Heath", "Basic Ground-Water Hydrology, USGS WSP 2220", "1983, not seen again", (MEMORY,))
EPANET = Work("US Environmental Protection Agency", "EPANET", "its source", (READ,))

KING = Work("King County", "Surface Water Design Manual", "not seen again", (MEMORY,))
EN_12056 = Work(
    "CEN (after HR Wallingford SR 620)",
    "EN 12056-3, Gravity drainage systems inside buildings: roof drainage, layout and calculation",
    "not seen again",
    (MEMORY,),
)
HEC_22 = Work(
    "Federal Highway Administration", "Urban Drainage Design Manual, HEC-22", "not seen again", (MEMORY,)
)
SIMPSON = Work("L. L. Simpson", "Sizing Piping for Process Plants", "Chem. Eng., 1968", (MEMORY,))
WYLY = Work(
    "R. S. Wyly & H. N. Eaton",
    "Capacities of Stacks in Sanitary Drainage Systems for Buildings",
    "NBS Monograph 31, 1961",
    (MEMORY,),
)
KALINSKE = Work("A. A. Kalinske & J. M. Robertson", "Closed Conduit Flow", "Trans. ASCE 108, 1943", (MEMORY,))
DAVIES = Work(
    "R. M. Davies & G. I. Taylor",
    "The mechanics of large bubbles rising through extended liquids and through liquids in tubes",
    "Proc. Roy. Soc. A 200, 1950",
    (MEMORY,),
)
MACHINERY = Work("E. Oberg, F. D. Jones & H. L. Horton", "Machinery's Handbook", "not seen again", (MEMORY,))
ASTM_D2467 = Work(
    "ASTM International",
    "ASTM D2467, Socket-Type PVC Plastic Pipe Fittings, Schedule 80",
    "not seen again",
    (MEMORY,),
)
ASNZS_1477 = Work(
    "Standards Australia & Standards New Zealand",
    "AS/NZS 1477, PVC pipes and fittings for pressure applications",
    "not seen; a listing of class 12 was",
    (MEMORY, SECOND_HAND),
)
ISO_1452 = Work(
    "ISO", "ISO 1452, Plastics piping systems for water supply: unplasticized PVC", "not seen", (MEMORY,)
)
ISO_727 = Work(
    "ISO", "ISO 727-1, Fittings with plain sockets for pipes under pressure", "not seen", (MEMORY,)
)

FLUIDS = Work("C. Bell and contributors", "fluids, Python library", "version 1.3.1", (LIBRARY,))
IAPWS = Work("J. J. Gómez Romera", "iapws, Python library", "version 1.5.5", (LIBRARY,))
SCIPY = Work("SciPy developers", "SciPy, Python library", "version 1", (LIBRARY,))


def works() -> list[Work]:
    """List every work above."""
    return [value for value in globals().values() if isinstance(value, Work)]


def refused(cited: Cited) -> str:
    """Say why a citation is no source, or "" when it is one."""
    if cited.kind not in MEANING:
        return f"kind {cited.kind!r} is not known; use one of {', '.join(MEANING)}"
    if cited.kind not in OUTSIDE:
        if cited.work:
            return f"{cited.kind} names a work; it is no evidence from it, so use own() or practice()"
        return "" if cited.note else f"{cited.kind} does not say from what; give a note"
    if cited.work is None:
        return f"{cited.kind} names no work; name one of tests/equations/works.py, or use own() or practice()"
    for what in ("author", "title"):
        if not getattr(cited.work, what).strip():
            return f"the work has no {what}; a source that cannot be named in full is no source"
    if not cited.section.strip():
        return f"no section or table of {cited.work.title!r} is named"
    if cited.work not in works():
        return (
            f"{cited.work.title!r} is not in tests/equations/works.py; list it there with who published it, "
            "and how it was reached"
        )
    if cited.kind not in cited.work.kinds:
        return f"{cited.work.title!r} is there as {' or '.join(cited.work.kinds)}, not as {cited.kind}"
    return ""
