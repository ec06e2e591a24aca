"""What the code asks of this section: one fact a clause that applies, with need, provision and shortfall.

The tables are data (`reviewer.library.codes`); what a table means for a section of layers is here.
"""

from __future__ import annotations

from reviewer.facts.anatomy import OPEN, Anatomy, series, tightest_class
from reviewer.facts.book import Book, Origin, Record
from reviewer.facts.resolve import Properties
from reviewer.facts.site import Site
from reviewer.facts.statements import present
from reviewer.library import codes
from reviewer.model.section import Section
from reviewer.physics.vapor import retarder_class
from reviewer.units import PERM, show

SMALL_CAVITY = 0.1
"""m: a cavity no deeper than this takes the 2x4 column (3-1/2 in), a deeper one the 2x6 column."""
FOAM_COUNTS = 1.5 * PERM
"""Closed-cell foam at most this permeable, sprayed on the inside of the sheathing, counts as exterior
insulation for Class III (IRC R702.7.1, IBC 1404.3.2; from memory)."""
SLACK = 1e-6


def requirement_facts(
    section: Section, layers: list[Properties], a: Anatomy, site: Site, head: Record, book: Book
) -> None:
    if site.zone_number is None or site.code == "none":
        return
    if site.code == "NBC":
        _effective(section, site, head, book)
        _canada(section, layers, a, site, head, book)
        return
    _prescriptive(section, layers, a, site, head, book)
    if section.kind == "slab":
        _heated_slab(section, layers, a, site, book)
    if section.kind == "wall":
        _us_wall(layers, a, site, head, book)
    elif section.kind == "roof":
        _us_roof(layers, a, site, head, book)


def _new(topic: str, t: codes.Table, book: Book) -> Record:
    r = book.record("requirement", f"{topic}", f"{t.code} {t.edition} {t.clause}")
    origin = Origin("looked up", t.about, str(t.citation))
    r.put("topic", topic, origin)
    r.put("code", t.code, origin)
    r.put("edition", t.edition, origin)
    r.put("clause", t.clause, origin)
    r.put("from_memory", t.certainty == "memory", origin)
    return r


def _resistance(r: Record, t: codes.Table, needed: float, provided: float | None) -> None:
    r.put("r_needed", needed, Origin("looked up", t.about, str(t.citation)))
    r.put("r_provided", provided, why="the resistance of an insulation layer is not known")
    if provided is not None:
        r.put("r_short", max(needed - provided, 0.0))


def _us_wall(layers: list[Properties], a: Anatomy, site: Site, head: Record, book: Book) -> None:
    if a.main is None:
        return
    main = layers[a.main]
    if main.has("straw or earth"):
        # Members in straw, hemp or earth do not make a frame wall of it: the table was drawn up for cavities of
        # fiber, and the appendices on such walls keep both faces open to vapor (IRC 2015 on, from memory).
        head.put("retarder_by_code", "none asked")
        return
    if head.fields.get("framing") in (None, "none"):
        if not main.has("air permeable") or _board(main):
            return
        book.assume(
            f"{main.label()} stands between members: what the code asks of frame walls is asked of this one",
            "no members were stated, and nothing else would hold it",
            "code rules",
        )
    interior = head.fields.get("interior_class")
    unknown = "the vapor retarder class of the room side is not known"
    _retarder(layers, a, site, head, interior, unknown, book)
    _prohibited(layers, a, site, interior, unknown, book)
    _class_two_foam(layers, a, site, head, interior, book)
    t = _row_table("two-class-i", site)
    if t is not None:
        r = _new("two class I", t, book)
        inside = tightest_class(layers, _room_side(layers, a))
        # One side that is known not to be Class I settles it.
        sides = (inside, head.fields.get("exterior_class"))
        both = False if any(x not in (None, "I") for x in sides) else None if None in sides else True
        r.put("met", None if both is None else not both, why=unknown)


def _room_side(layers: list[Properties], a: Anatomy) -> tuple[int, ...]:
    """What the code calls the interior side of a frame wall: inboard of the framing, with a facing of the
    insulation between its members. A membrane on the sheathing is not there, even where all insulation
    lies outboard of it."""
    framed = next((i for i in range(a.end) if layers[i].layer.framing is not None), a.main)
    if framed is None:
        return ()
    facing = framed == a.main and "vapor control" in layers[framed].roles
    return (*range(framed), framed) if facing else tuple(range(framed))


def _outboard_of_frame(layers: list[Properties], a: Anatomy) -> range:
    """Layers outboard of the framing, insulated or empty: what is continuous there covers the frame even where it is
    the main insulation. Without framing, outboard of the main insulation."""
    framed = [i for i in range(a.end) if layers[i].layer.framing is not None]
    inner = framed[-1] if framed else a.main
    return range(a.end, a.end) if inner is None else range(inner + 1, a.end)


PRESCRIPTIVE = {"wall": "wall", "roof": "roof", "floor": "floor", "foundation wall": "basement"}


def _prescriptive(
    section: Section, layers: list[Properties], a: Anatomy, site: Site, head: Record, book: Book
) -> None:
    """The insulation table: by its options for insulation between and outside of the members, or by its
    transmittance. Walls of steel or mass and roofs insulated above the deck have tables of their own."""
    if section.kind not in PRESCRIPTIVE or a.main is None:
        return
    deck_roof = section.kind == "roof" and head.fields.get("low_slope") == "yes"
    # The table for floors is one of framed floors; where no members are told, a subfloor of wood lies on some.
    poured = any("structure" in p.roles and p.has("concrete") for p in layers[: a.end])
    unframed = ("wood", "none") if section.kind == "floor" and not poured else ("wood",)
    if (section.kind in ("wall", "floor") or deck_roof) and head.fields.get(
        "framing", "none"
    ) not in unframed:
        return
    if section.kind == "wall" and any(
        "structure" in p.roles and (p.has("masonry") or p.has("concrete")) for p in layers[: a.end]
    ):
        return
    t = _row_table(f"prescriptive-{PRESCRIPTIVE[section.kind]}", site)
    if t is None:
        return
    row = _row(t, site)
    between = continuous = 0.0
    known = True
    for p in layers[: a.end]:
        if p.is_insulation:
            known = known and p.r is not None
            if p.layer.framing is not None:
                between += p.r or 0.0
            else:
                continuous += p.r or 0.0
    if section.kind in ("roof", "floor"):
        between, continuous = between + continuous, 0.0
    shortfalls = [(max(r - between, 0.0) + max(ci - continuous, 0.0), r, ci) for r, ci in row.options]
    short, r_between, r_continuous = min(shortfalls)
    r = _new("prescriptive resistance", t, book)
    r.put("r_needed", r_between + r_continuous, Origin("looked up", t.about, str(t.citation)))
    why = "the resistance of an insulation layer is not known"
    r.put("r_provided", between + continuous if known else None, why=why)
    u = head.fields.get("u_value")
    by_u = isinstance(u, float) and row.u is not None and u <= row.u * (1 + SLACK)
    r.put("option", "its transmittance" if by_u else _option_text(r_between, r_continuous))
    if known or by_u:
        r.put("r_short", 0.0 if by_u else short)
        r.put("met", by_u or short <= ROUNDED)
    else:
        r.put("met", None, why=why)


def _heated_slab(section: Section, layers: list[Properties], a: Anatomy, site: Site, book: Book) -> None:
    """What the table asks below a slab with heating in it. Insulation over the slab does not count: the heat is
    below it."""
    slab = next((i for i, p in enumerate(layers) if p.has("concrete") and "structure" in p.roles), None)
    t = _row_table("prescriptive-heated-slab", site)
    if slab is None or t is None or not present(section.known.get("floor heating", "none")):
        return
    ((_, needed),) = _row(t, site).options
    below = [p.r for p in layers[slab + 1 : a.end] if p.is_insulation]
    provided = None if None in below else sum(x for x in below if x is not None)
    r = _new("prescriptive resistance", t, book)
    _resistance(r, t, needed, provided)
    r.put("layer", slab)
    r.put("option", _option_text(0.0, needed))
    why = "the resistance of an insulation layer is not known"
    r.put("met", None if provided is None else provided >= needed - ROUNDED, why=why)


ROUNDED = 0.02
"""m²·K/W: products labeled with a whole R-value come out a little below it by conductivity and thickness."""


def _option_text(between: float, continuous: float) -> str:
    parts = [show(x, "thermal resistance", "ip") for x in (between, continuous)]
    return (
        parts[0]
        if not continuous
        else f"{parts[1]} continuous"
        if not between
        else f"{parts[0]} and {parts[1]} continuous"
    )


def _row_table(id: str, site: Site) -> codes.Table | None:
    """The table in the site's edition, when it has a row for the zone."""
    assert site.zone_number is not None
    t = codes.table(id, site.code, site.edition)
    return t if t is not None and t.for_zone(site.zone_number, site.moisture == "C") is not None else None


def _row(t: codes.Table, site: Site) -> codes.Row:
    assert site.zone_number is not None
    row = t.for_zone(site.zone_number, site.moisture == "C")
    assert row is not None
    return row


def _column(row: codes.Row, head: Record) -> tuple[float, str]:
    depth = head.fields.get("cavity_depth")
    small = isinstance(depth, float) and depth <= SMALL_CAVITY
    needed = row.r_2x4 if small else row.r_2x6
    assert needed is not None
    return needed, "2x4" if small else "2x6"


def exterior_for_class_three(layers: list[Properties], a: Anatomy, site: Site) -> float | None:
    """Continuous insulation that counts: outboard, and closed-cell foam on the inside of the sheathing.

    Until 2018 the larger of the two is taken, from 2021 their sum (as restated; the more careful reading).
    """
    board = foam = 0.0
    outboard = _outboard_of_frame(layers, a)
    for i in range(a.end):
        p = layers[i]
        if not p.is_insulation:
            continue
        if p.r is None:
            return None
        sprayed = p.has("spray foam") and p.permeance_dry is not None and p.permeance_dry <= FOAM_COUNTS
        if sprayed and i <= (a.condensing if a.condensing is not None else a.end):
            foam += p.r
        elif i in outboard and p.layer.framing is None:
            board += p.r
    return board + foam if site.edition >= 2021 else max(board, foam)


def _retarder(
    layers: list[Properties], a: Anatomy, site: Site, head: Record, interior: object, unknown: str, book: Book
) -> None:
    t = _row_table("interior-retarder", site)
    if t is None:
        if codes.table("interior-retarder", site.code, site.edition) is not None:
            head.put("retarder_by_code", "none asked")
        return
    r = _new("interior retarder needed", t, book)
    if interior is None:
        r.put("met", None, why=unknown)
        return
    options = []
    if interior in ("I", "II"):
        options.append(f"Class {interior} on the room side")
    elif _is_its_own_retarder(layers, a):
        options.append("foam of Class II or less with no other insulation inboard of it")
    third = codes.table("class-iii", site.code, site.edition)
    allowed, vented = None, False
    if third is not None and (row := third.for_zone(site.zone_number or 0, site.moisture == "C")) is not None:
        c = _new("class III allowed", third, book)
        needed, column = _column(row, head)
        provided = exterior_for_class_three(layers, a, site)
        _resistance(c, third, needed, provided)
        ways = []
        family = _sheathing_family(layers, a)
        vented = family in row.vented and _vented_over_sheathing(layers, a, head)
        if vented:
            ways.append(f"vented cladding over {family}")
        if provided is not None and provided >= needed - SLACK:
            ways.append(
                f"{show(provided, 'thermal resistance', 'ip')} continuous insulation ({column} column asks {show(needed, 'thermal resistance', 'ip')})"
            )
        allowed = True if ways else None if provided is None else False
        c.put("met", allowed, why="the resistance of the exterior insulation is not known")
        c.put("option", " and ".join(ways) or f"{column} column")
    if interior == "III" and allowed:
        options.append("Class III, allowed by " + ("vented cladding" if vented else "exterior insulation"))
    if interior == "III" and allowed is None and third is not None:
        r.put("met", None, why="the resistance of the exterior insulation is not known")
        return
    r.put("met", bool(options))
    r.put("option", "; ".join(options) or "none of its ways")
    head.put("retarder_by_code", "met" if options else "missing")


def _is_its_own_retarder(layers: list[Properties], a: Anatomy) -> bool:
    """Whether all insulation is sprayed foam or sealed foam boards of 1 perm or less: nothing that vapor reaches is
    colder than the face of it (IRC R702.7 asks for a material of the class, not for a sheet; from memory)."""
    if a.main is None:
        return False
    main = layers[a.main]
    seamless = main.has("spray foam") or main.layer.joints in ("sealed", "taped")
    alone = not any(p.is_insulation for p in layers[: a.main])
    return (
        main.has("foam plastic") and seamless and alone and tightest_class(layers, (a.main,)) in ("I", "II")
    )


CLEAR_AIRSPACE = 0.0253
"""m: the clear air space that makes masonry veneer a vented cladding, 1 in (IRC R702.7.3, R703.8.4; from memory)."""


def _vented_over_sheathing(layers: list[Properties], a: Anatomy, head: Record) -> bool:
    """Whether the cladding is vented as the table means it: right over the sheathing, or over layers that
    are as good as open. Insulation boards that resist vapor leave the sheathing no way out, and the table
    has a row of its own for them."""
    if head.fields.get("vented_cladding") != "yes":
        cladding = next((p for p in reversed(layers) if "cladding" in p.roles), None)
        gap = layers[cladding.layer.index - 1] if cladding is not None and cladding.layer.index else None
        if cladding is None or gap is None or not gap.is_space or not cladding.has("masonry"):
            return False
        if (gap.thickness or 0.0) < CLEAR_AIRSPACE:
            return False
    outboard = _outboard_of_frame(layers, a)
    sheathing = next((i for i in outboard if "sheathing" in layers[i].roles), a.end)
    return not any(
        layers[i].is_insulation and (w := layers[i].permeance_dry) is not None and w < OPEN
        for i in range(sheathing + 1, a.end)
    )


def _sheathing_family(layers: list[Properties], a: Anatomy) -> str:
    for i in _outboard_of_frame(layers, a):
        p = layers[i]
        if "sheathing" not in p.roles or p.material is None:
            continue
        if p.has("gypsum"):
            return "gypsum"
        if "fiberboard" in p.material.id:
            return "fiberboard"
        if p.has("wood based"):
            return "wood panel"
    return ""


def _prohibited(
    layers: list[Properties], a: Anatomy, site: Site, interior: object, unknown: str, book: Book
) -> None:
    t = _row_table("prohibited", site)
    if t is None:
        return
    classes = _row(t, site).classes
    r = _new("class prohibited", t, book)
    r.put("option", "Class " + " and ".join(classes))
    if interior is None:
        r.put("met", None, why=unknown)
        return
    # A retarder that opens above 1 perm in the wet cup is allowed in every zone (IRC 2021 Table R702.7(2) note a).
    offending = [
        i
        for i in _room_side(layers, a)
        if (w := layers[i].permeance_dry) is not None
        and retarder_class(w) in classes
        and (layers[i].permeance_wet or w) <= PERM
    ]
    r.put("met", not offending)
    if offending:
        r.put("layer", offending[0])


def _class_two_foam(
    layers: list[Properties], a: Anatomy, site: Site, head: Record, interior: object, book: Book
) -> None:
    t = _row_table("class-ii-foam", site)
    foam = [
        i
        for i in _outboard_of_frame(layers, a)
        if layers[i].has("foam plastic") and layers[i].is_insulation and layers[i].layer.framing is None
    ]
    if t is None or interior != "II" or not foam:
        return
    r = _new("class II with exterior foam", t, book)
    needed, _ = _column(_row(t, site), head)
    provided = exterior_for_class_three(layers, a, site)
    _resistance(r, t, needed, provided)
    r.put("layer", foam[0])
    r.put(
        "met",
        None if provided is None else provided >= needed - SLACK,
        why="the resistance of the foam is not known",
    )


def _board(p: Properties) -> bool:
    """Insulation that comes in boards, which need no rafters to lie between."""
    return "board" in p.name


def _us_roof(layers: list[Properties], a: Anatomy, site: Site, head: Record, book: Book) -> None:
    if head.fields.get("vented_roof") == "yes" or a.main is None:
        return
    insulation = [i for i in range(a.end) if layers[i].is_insulation]
    # The clause is about attics and rafter spaces under a deck; a roof with all its insulation on the deck has none.
    deck = next((i for i in range(a.end) if layers[i].roles & {"structure", "sheathing"}), a.end)
    if all(layers[i].layer.framing is None and (i > deck or _board(layers[i])) for i in insulation):
        return
    permeable = [i for i in insulation if layers[i].has("air permeable")]
    why = "the resistance of an insulation layer is not known"
    t = _row_table("unvented-roof", site)
    asked: list[Record] = []
    if t is not None and permeable:
        r = _new("unvented roof insulation", t, book)
        asked.append(r)
        row = _row(t, site)
        assert row.r is not None
        outermost = max(permeable)
        tight = [layers[i].r for i in insulation if i > outermost or layers[i].has("air impermeable")]
        provided = None if any(x is None for x in tight) else float(sum(x for x in tight if x is not None))
        _resistance(r, t, row.r, provided)
        r.put("met", None if provided is None else provided >= row.r - SLACK, why=why)
    t = _row_table("unvented-roof-no-class-i", site)
    interior = head.fields.get("interior_class")
    if t is not None:
        r = _new("unvented roof no class I", t, book)
        asked.append(r)
        r.put(
            "met",
            None if interior is None else interior != "I",
            why="the class of the ceiling side is not known",
        )
    t = _row_table("unvented-roof-underside", site)
    tight_layers = [i for i in insulation if layers[i].has("air impermeable") and layers[i].has("spray foam")]
    if t is not None and tight_layers:
        r = _new("unvented roof underside", t, book)
        asked.append(r)
        i = tight_layers[0]
        w = series(layers, range(i + 1), False)
        coated = [layers[j].permeance_dry for j in range(max(0, i - 1), i + 1)]
        tightest = min((x for x in coated if x is not None), default=None)
        r.put("layer", i)
        r.put(
            "met",
            None if w is None or tightest is None else tightest <= PERM * (1 + SLACK),
            why="the permeance of the foam is not known",
        )
    if asked and tight_layers and max(insulation) == tight_layers[-1] < deck:
        # Foam sprayed against the deck is the case that the clause was written for.
        met = {r.fields.get("met") for r in asked}
        head.put("retarder_by_code", "missing" if "no" in met else "met" if met == {"yes"} else None)


def _canada(
    section: Section, layers: list[Properties], a: Anatomy, site: Site, head: Record, book: Book
) -> None:
    hdd = site.climate.hdd18 if site.climate else None
    if section.kind not in ("wall", "roof") or a.main is None or hdd is None:
        return
    asked: list[Record] = []
    t = codes.table("vapor-barrier", "NBC", site.edition)
    if t is not None and (row := t.for_degree_days(hdd)) is not None and row.permeance is not None:
        r = _new("vapor barrier permeance", t, book)
        asked.append(r)
        warm = [
            layers[i].permeance_dry
            for i in (*a.interior, *([a.main] if "vapor control" in layers[a.main].roles else []))
        ]
        tightest = min((w for w in warm if w is not None), default=None)
        limit = row.permeance * (1 + SLACK)
        met = (tightest is not None and tightest <= limit) or _outboard_is_barrier(
            layers, a, limit, hdd, site
        )
        r.put(
            "met",
            True if met else None if any(w is None for w in warm) else False,
            why="a layer on the warm side is not known",
        )
    t = codes.table("low-permeance-ratio", "NBC", site.edition)
    low = _low_permeance_outboard(layers, a)
    near = _near_low_permeance(layers, a) if low is None else None
    if t is not None and (row := t.for_degree_days(hdd)) is not None and row.ratio is not None:
        if low is not None:
            asked.append(r := _new("low permeance ratio", t, book))
            _ratio(r, low, row.ratio, layers, a, t)
        elif near is not None:
            _ratio(_new("low permeance ratio by product", t, book), near, row.ratio, layers, a, t)
    if asked and section.kind == "wall":
        # As with the American tables: what the code lets pass is weighed by that.
        met = {r.fields.get("met") for r in asked}
        head.put("retarder_by_code", "missing" if "no" in met else "met" if met == {"yes"} else None)


def _ratio(r: Record, low: int, needed: float, layers: list[Properties], a: Anatomy, t: codes.Table) -> None:
    """The resistance from a layer outwards over that inboard of it, against what the table asks."""
    r.put("layer", low)
    inner = [layers[i].r for i in range(low)]
    outer = [layers[i].r for i in range(low, a.end)]
    r.put("ratio_needed", needed, Origin("looked up", t.about, str(t.citation)))
    if any(x is None for x in inner + outer):
        r.put("met", None, why="the resistance of a layer is not known")
        return
    inside, outside = sum(x for x in inner if x is not None), sum(x for x in outer if x is not None)
    ratio = outside / inside if inside > 0 else 99.0
    r.put("ratio_provided", ratio)
    r.put("met", ratio >= needed - SLACK)


def _effective(section: Section, site: Site, head: Record, book: Book) -> None:
    """The effective resistance that the Canadian code asks: films and members in, soil out."""
    hdd = site.climate.hdd18 if site.climate else None
    u = head.fields.get("u_value")
    heated = section.kind == "slab" and present(section.known.get("floor heating", "none"))
    if hdd is None or not isinstance(u, float) or (section.kind == "slab" and not heated):
        return
    attic = section.kind == "roof" and section.layers[-1].space == "vented attic"
    part = {"foundation wall": "foundation", "slab": "heated-slab"}.get(section.kind, section.kind)
    t = codes.table(f"effective-{'attic' if attic else part}", "NBC", site.edition)
    row = t.for_degree_days(hdd) if t is not None else None
    if t is None or row is None or row.r is None:
        return
    r = _new("prescriptive resistance", t, book)
    _resistance(r, t, row.r, 1.0 / u)
    r.put("option", f"{show(row.r, 'thermal resistance', 'si')} effective")
    r.put("met", 1.0 / u >= row.r - ROUNDED)


_COVERS = 0.5
"""m²·K/W: less than that does not keep a membrane warm (common practice)."""


def _outboard_is_barrier(layers: list[Properties], a: Anatomy, limit: float, hdd: float, site: Site) -> bool:
    """Whether sealed foam, or an adhered membrane under insulation, is the vapor barrier itself: tight enough, and warm
    enough on its inner face, by the ratio that the code asks of a low-permeance layer (NBC 9.25.4.3, close enough to
    the warm side not to condense; from memory). Where nothing insulates inboard of foam, its joints are as warm."""
    t = codes.table("low-permeance-ratio", "NBC", site.edition)
    row = t.for_degree_days(hdd) if t is not None else None
    for i in range(a.end):
        p = layers[i]
        foam = p.is_insulation and p.has("foam plastic")
        adhered = p.has("membrane") and {"air barrier", "vapor control"} <= p.roles
        if not (foam or adhered) or p.permeance_dry is None or p.permeance_dry > limit:
            continue
        inner = [q.r for q in layers[:i] if q.is_insulation]
        outer = [q.r for q in layers[i : a.end]]
        covered = any(r is None or r >= _COVERS for r in outer)
        if not inner and covered and p.layer.joints != "unsealed":
            return True
        if foam and not (p.has("spray foam") or p.layer.joints in ("sealed", "taped")):
            continue
        if row is None or row.ratio is None or any(r is None for r in (*inner, *outer)):
            continue
        if sum(r or 0.0 for r in outer) >= row.ratio * sum(r or 0.0 for r in inner):
            return True
    return False


THIN_WOOD = 0.0127
"""m: wood-based sheathing up to 12.5 mm is exempt from the low-permeance clause (NBC 9.25.5.1); panels of
12.5 mm are what people write as 1/2 in."""
LOW_PERMEANCE = 60e-12
LOW_LEAKAGE = 0.1
MOST_NEAR = 92e-12
"""kg/(s·m²·Pa): what 25 mm of extruded polystyrene passes at most (23 to 92 ng, NBC Table A-9.25.5.1; from memory): a
board between the limit and that may be below the limit by its own test."""


def _near_low_permeance(layers: list[Properties], a: Anatomy) -> int | None:
    """The first foam board outboard that the clause may ask about, by the product."""
    return next(
        (
            i
            for i in a.exterior
            if (w := layers[i].permeance_dry) is not None
            and LOW_PERMEANCE <= w <= MOST_NEAR
            and layers[i].has("foam plastic")
            and layers[i].has("polystyrene")
        ),
        None,
    )


def _low_permeance_outboard(layers: list[Properties], a: Anatomy) -> int | None:
    above_deck = not any(p.is_insulation and p.layer.framing is not None for p in layers[: a.end])
    for i in a.exterior:
        p = layers[i]
        if p.permeance_dry is None or p.permeance_dry >= LOW_PERMEANCE:
            continue
        if above_deck and "roof covering" in p.roles:
            # A roof with all of its insulation on the deck ends in its membrane by design.
            continue
        if p.has("wood based") and (p.thickness or 0.0) <= THIN_WOOD + 1e-4:
            continue
        if (
            p.material is not None
            and p.material.air_permeance is not None
            and p.material.air_permeance >= LOW_LEAKAGE
        ):
            continue
        return i
    return None
