"""A reading put together: the section as described, the sections set beside it, the subject and what is open."""

from __future__ import annotations

import re
from dataclasses import replace

from reviewer.answers import conversions, figures, places
from reviewer.answers.assemble import ATTIC_SPACE, DECK, DEEP, Assembly, Open, assemble, lie_loose, role_text
from reviewer.answers.intents import concepts_in
from reviewer.answers.kinds import doubtful
from reviewer.answers.layers import VENT_SPACE, part_of
from reviewer.answers.lexicon import lexicon
from reviewer.answers.positions import two_places
from reviewer.answers.reading import Gap, Option, Reading, Subject, Taken
from reviewer.answers.scan import Lexeme
from reviewer.answers.scene import Mention, Scene
from reviewer.answers.unit import Unit, are_rivals, has_masonry
from reviewer.library.materials import load_materials
from reviewer.model.section import Section
from reviewer.reply import Intent

_CLIMATES = {"cold": ("zone 6A", "zone 7"), "hot humid": ("zone 2A", "zone 1A"), "mixed": ("zone 4A",), "marine": ("zone 4C",),
             "dry": ("zone 3B", "zone 5B")}  # fmt: skip


_EXAMPLES = ("zone 2A", "zone 4A", "zone 6A")


_NEEDS_PLACE: frozenset[Intent] = frozenset(
    ("safe here", "need", "leave out", "add", "which", "how much", "cheapest", "what to use")
)


_VENTED, _CLOSED = (
    r"(?:vent(?:ed|ing|ilated|s)?)",
    r"(?:un-?vented|non-?vented|not vented|unventilated|hot roof|no vents?|(?:fill|pack|stuff)(?:ed|ing)? (?:it|them|the)\b|dense[ -]?pack(?:ed|ing)?\b|fully? filled)",
)


_VENTED_OR_NOT = re.compile(
    rf"\b{_VENTED}\b(?:\W+\w+){{0,6}}?\W+(?:or|vs\.?|versus|than)\b(?:\W+\w+){{0,5}}?\W+{_CLOSED}"
    rf"|\b{_CLOSED}\b(?:\W+\w+){{0,6}}?\W+(?:or|vs\.?|versus|than)\b(?:\W+\w+){{0,5}}?\W+{_VENTED}\b"
)
"""`vented or unvented`, `vent it or fill it up`: a choice between a space and none."""


_CLOSE = r"(?:close|closing|closed|seal|sealing|sealed|encapsulat\w*|shut|condition(?:ed)?)"


_VENT_OR_CLOSE = re.compile(
    rf"\b(?:vent|vents|vented|venting|open|ventilated?)\b[^.?;]{{0,40}}\b(?:or|vs|versus|than)\b[^.?;]{{0,30}}\b{_CLOSE}\b"
    rf"|\b{_CLOSE}\b[^.?;]{{0,60}}\b(?:or|vs|versus|than)\b[^.?;]{{0,40}}\b(?:vent|vents|vented|open|ventilated?)\b"
)


_IN, _OUT = r"(?:inside|interior|in)", r"(?:outside|exterior|out)"


_INSIDE_OR_OUT = re.compile(rf"\b{_IN} or (?:the |on the )?{_OUT}\b|\b{_OUT} or (?:the |on the )?{_IN}\b")


_OTHER_VENTS = re.compile(r"\bgable|\bturbine|\bmore vent|\balready\b|\bpower(?:ed)? (?:attic )?(?:vent|fan)")
"""Vents that are there already: then the question is about more of them."""
_HOW_MANY = re.compile(r"\bhow (?:many|much)\b[^.?!]*\bvent")
_ANOTHER = re.compile(r"\b(?:another|second|two|also|too|both|more)\b")
_CLOSES_VENTS = re.compile(
    r"\b(?:clos|seal|block|plug|board|cover|stuff)(?:e|ed|ing|ged|ging)?\b(?: [a-z]+){0,5} vents?\b"
)


def _is_vent(m: Mention) -> bool:
    return "vent" in m.lexeme.text.lower() and "air space vented" in m.space


_TOGETHER = re.compile(r"\s*(?:\w+\s+)?(?:with|and|plus|\+|w/)\s+(?:[\w'-]+\s+){0,3}\Z")
_FOAMS = frozenset(("foam", "spray foam", "sprayfoam", "foam insulation"))
_BOARD = "extruded polystyrene board"
_BETWEEN = "between framing"


def _is_foam(m: Mention) -> bool:
    return "foam plastic" in load_materials()[m.material].flags


def _faces_only(m: Mention) -> bool:
    """Whether a layer is what one sees from the street: of a wall that says no more than its siding nothing is told."""
    roles = load_materials()[m.material].roles
    return bool(roles) and roles <= {"cladding", "water control", "roof covering"}


def _meant(text: str, scene: Scene, intent: Intent, subject: Mention | None) -> tuple[Intent, Mention | None]:
    """The intent and the subject where the words for them say another thing in such a section."""
    low = text.lower()
    vents = next((m for m in scene.mentions if _is_vent(m)), None)
    closing = scene.setting.form in ("attic", DECK) and _CLOSES_VENTS.search(low) is not None
    if closing and vents is not None and (subject is vents or intent == "safe here"):
        return "leave out", vents
    if subject is None:
        return intent, None
    if intent == "add" and _is_vent(subject) and _HOW_MANY.search(low):
        return "how much", subject
    others = [m for m in scene.mentions if m is not subject and m.material and m.material == subject.material]
    told = any(not m.negated and m.loose is None for m in others)
    if intent == "add" and told and subject.loose is not None and _ANOTHER.search(low) is None:
        # `Cold sheathing always rots, he says`: the sheathing that the section has.
        return "safe here", None
    stands = bool(others) and "structure" in load_materials()[subject.material].roles
    if intent == "need" and stands and not subject.loose:
        # `Do I need something between the block and the wood`: nobody asks whether the block is needed.
        return "safe here", None
    return intent, subject


class Maker:
    """Puts one reading together."""

    def __init__(
        self,
        text: str,
        unit: Unit,
        scene: Scene,
        intent: Intent,
        subject: Mention | None,
        options: list[Mention],
        around: list[Unit],
    ):
        self.whole, self.text = text, text[unit.start : unit.end]
        intent, subject = _meant(text, scene, intent, subject)
        self.figure = figures.asked(text[unit.start : unit.end])
        if self.figure:
            subject, options, intent = None, [], "how much"
        self.attic_vents = (
            subject is not None
            and intent in ("need", "add", "leave out")
            and scene.setting.form in ("attic", DECK)
            and _is_vent(subject)
            and not _OTHER_VENTS.search(text.lower())
        )
        about = [m for m in (subject, *options) if m is not None]
        if intent == "safe here":
            about = [m for m in scene.mentions if m.lexeme in unit.lexemes and not m.negated]
        about_deck = self.attic_vents or any(_of_the_deck(m) for m in about)
        self.scene = replace(scene, deck=True) if about_deck else scene
        self.intent: Intent = intent
        self.subject, self.compared = subject, options
        for m in about if scene.setting.form in ("attic", DECK) else ():
            lie_loose(m)
        self.unit = unit
        low = self.text.lower()
        self.vents = scene.setting.kind == "roof" and _VENTED_OR_NOT.search(low) is not None
        bare = intent in ("which", "what to use") and not options
        self.crawl = (
            scene.setting.kind == "floor" and _VENT_OR_CLOSE.search(text.lower() if bare else low) is not None
        )
        self.sides = (
            scene.setting.kind in ("wall", "foundation wall") and _INSIDE_OR_OUT.search(low) is not None
        )
        if self.vents or self.crawl:
            self.intent, self.subject = "which", None
        self.around = around
        self.gaps: list[Gap] = []
        self.taken: list[Taken] = []
        self.confidence = 1.0
        self.unplaced: list[str] = []
        self.asks_thickness = intent == "safe here"

    def result(self) -> Reading:
        intent: Intent = self.intent
        subject = self.named()
        base: Section | None = None
        options: tuple[Option, ...] = ()
        if intent == "what is" or (intent == "why not always" and not self.describes()):
            return Reading(self.text, intent, (), (), None, (), subject, tuple(dict.fromkeys(self.taken)))
        if self.vents:
            options = self.vented_or_not()
            base = options[0].section if options else None
        elif self.crawl:
            options = self.crawl_vented_or_closed()
            base = options[0].section if options else None
        elif self.sides and (sided := self.inside_or_outside()):
            options, base = sided, sided[0].section
            self.intent = intent = "which"
        elif placed := self.over_or_under():
            options, base = placed, placed[0].section
            self.intent = intent = "which"
        elif sizes := self.two_sizes():
            options, base = sizes, sizes[0].section
            self.intent = intent = "which"
        elif intent == "which":
            options, base = self.side_by_side()
            self.choice_gap(options)
        elif intent in ("need", "add", "leave out") and self.subject is not None:
            options = self.without_and_with()
            base = options[0].section if options else None
        else:
            foam = self.subject is not None and "spray foam" in self.subject.material
            left_out = (
                [self.subject]
                if not foam and intent in ("how much", "why not always") and self.subject is not None
                else []
            )
            sought = intent == "what to use" or (
                intent == "cheapest" and subject is not None and subject.sort == "role"
            )
            if sought and subject is not None:
                left_out = [m for m in self.scene.mentions if self.sought(m, subject)]
            if intent == "how much" and left_out and left_out[0].material:
                # Told with an amount, it stays: that amount is what is asked about.
                sized = left_out[0].thickness or left_out[0].r
                base = self.assembled(self.scene.mentions, without=None if sized else self.subject)
            else:
                base = self.assembled([m for m in self.scene.mentions if m not in left_out])
        if base is None and intent != "why not always":
            self.no_section()
        self.denials([s for s in (base, *(o.section for o in options)) if s is not None])
        self.kind_gap(base)
        self.place_gap(base)
        self.layers_gap()
        self.notes()
        return Reading(
            self.text,
            intent,
            (),
            (),
            base,
            options,
            subject,
            tuple(dict.fromkeys(self.taken)),
            tuple(self.gaps[:3]),
            None,
            self.confidence,
        )

    def denials(self, sections: list[Section]) -> None:
        """What is denied stands in no section but the one that has it; else it is asked about."""
        if not sections:
            return
        asserted = {
            m.material for m in self.scene.mentions if m.material and not m.negated and not m.replaces
        }
        about = {m.material for m in (self.subject, *self.compared) if m is not None}
        for m in self.scene.mentions:
            if not m.material or m.material in about or m.predicate or not (m.negated or m.replaces):
                continue
            if m.removed and self.intent == "what went wrong":
                continue
            if m.material in {x.name for x in sections[0].layers} - asserted:
                self.contradicted(m, sections[0])

    def contradicted(self, m: Mention, section: Section) -> None:
        """A layer that the text denies and that stands in the section all the same: which holds is asked."""
        layers = tuple(x for x in section.layers if x.name != m.material)
        without = replace(section, layers=tuple(replace(x, index=n) for n, x in enumerate(layers)))
        replies = ((f"with {m.material}", section), (f"without {m.material}", without))
        self.gaps.append(
            Gap(
                f"whether there is {m.material}",
                f'"{m.lexeme.text}" can be read as there and as not there.',
                replies if layers else (),
            )
        )

    def describes(self) -> bool:
        """Whether the text sets out a section, or at least where one stands."""
        return bool(
            self.scene.framed
            or self.scene.setting.kind
            or len([m for m in self.scene.mentions if m is not self.subject]) > 0
        )

    # -- subject ---------------------------------------------------------------------------------

    def named(self) -> Subject | None:
        scene, m = self.scene, self.subject
        if self.figure:
            return Subject("figure", self.figure)
        if self.intent == "what went wrong" and scene.findings:
            plain = [x for x in scene.findings if x.value not in ("condensation", "leak")]
            return Subject("finding", (plain or scene.findings)[0].value)
        if self.intent == "what to use":
            return self.job(m)
        if self.intent == "what is" and (
            sought := conversions.asked(self.whole, self.unit.start, self.unit.end)
        ):
            return Subject("quantity", *sought)
        if self.intent in ("what is", "why not always") and (id_ := self.explained()):
            return Subject("concept", id_)
        if self.intent == "what is":
            if scene.quality is not None and m is not None and m.material:
                return Subject("property", f"{scene.quality.value} of {m.material}")
            if scene.quality is not None and m is None:
                return Subject("property", scene.quality.value)
            if m is None and scene.findings:
                return Subject("finding", scene.findings[0].value)
        if self.intent == "how much" and (found := self.amount_of(m)) is not None:
            m = self.subject = found
        if m is None and self.intent in ("how much", "what to use", "cheapest"):
            m = next(
                (
                    x
                    for x in scene.mentions
                    if x.lexeme in self.unit.lexemes and (x.role or (x.loose and x.loose.takes))
                ),
                None,
            )
        if m is None:
            return None
        if m.role is not None:
            return Subject("role", m.role.role, m.side)
        if m.space:
            return Subject("role", "attic ventilation" if self.attic_vents else "air space", m.side)
        if m.loose is not None and m.loose.decides:
            return Subject("material", m.lexeme.text.lower(), m.side)
        if (
            m.loose is not None
            and m.loose.takes
            and "thermal control" in load_materials()[m.loose.takes].roles
        ):
            return Subject(
                "role", "insulation", m.side or ("outside" if "foam" in m.lexeme.text.lower() else "")
            )
        return Subject("material", m.material, m.side) if m.material else None

    def amount_of(self, m: Mention | None) -> Mention | None:
        """The insulation that an amount is asked of where the question names it by a wide word, or not at all: the
        last one told that is no fill, before the question or else after it; one that bears the same words."""
        insulating = {id_ for id_, x in load_materials().items() if "thermal control" in x.roles}
        kind, form = self.scene.setting.kind or "wall", self.scene.setting.form
        told = [
            x for x in self.scene.mentions if x.material in insulating and x.loose is None and not x.negated
        ]
        if m is not None and m.material and m.loose is None:
            words = m.lexeme.text.lower()
            like = [
                x for x in told if x is not m and x.material != m.material and words in x.lexeme.text.lower()
            ]
            return like[-1] if like and m.referred_to else None
        if m is not None and (m.loose is None or m.loose.takes not in insulating):
            return None
        asks = any(x.value in _MEASURED or x.sort in ("property", "loose") for x in self.unit.lexemes)
        boards = [x for x in told if part_of(x.material, kind, form, x.side, True) != "cavity"]
        if m is not None and m.side:
            boards = [x for x in boards if x.side in (m.side, "")]
        own = [x for x in boards if x.lexeme in self.unit.lexemes]
        before = [x for x in boards if x.lexeme.end <= self.unit.start]
        after = [x for x in boards if x.lexeme.start >= self.unit.end]
        return next((xs[k] for xs, k in ((own, 0), (before, -1), (after, 0)) if xs and asks), None)

    def explained(self) -> str:
        """Id of the explanation that is asked for; empty where the question is about a material."""
        words, asked_ = lexicon(), self.unit.asked
        m = self.subject
        if asked_ is None:
            return ""
        found = [id_ for _, _, id_ in concepts_in(self.unit.lexemes)]
        own = [x for x in self.scene.mentions if x.lexeme in self.unit.lexemes]
        pair = words.pairs.get(frozenset(found)) or words.pairs.get(
            frozenset(x.material for x in own if x.material)
        )
        if self.intent == "why not always":
            if m is not None and m.space:
                m = None
            broad = [c for c in found if c in ("why-not-all-open", "double-barrier", "drying-both-ways")]
            return broad[0] if broad else "" if m is not None else found[0] if found else ""
        means = any(x.value in ("mean", "means", "meaning") for x in self.unit.lexemes)
        if means and self.scene.quality is not None and found:
            return found[0]
        if m is not None and m.material and (self.scene.quality is not None or "V" in asked_.pattern.split()):
            return ""
        if pair:
            return pair
        if asked_.concept:
            return asked_.concept
        if found:
            return max(found, key=lambda c: (c != "perm", len(c)))
        if m is not None:
            name = m.material or (m.role.role if m.role else "air space")
            if (
                name in ("air space",)
                or m.role is not None
                or "vapor control" in load_materials()[name].roles
                or name in words.explained_by
            ):
                return words.explained_by.get(name, "")
        return ""

    def job(self, m: Mention | None) -> Subject | None:
        """What something is sought for: a function, not a layer that is there already."""
        own = [x for x in self.scene.mentions if x.lexeme in self.unit.lexemes]
        between = next((x for x in self.unit.lexemes if x.sort == "side" and x.value == _BETWEEN), None)
        if between is not None and not any(x.lexeme.start < between.start for x in own if x.loose is None):
            return Subject("role", "insulation", _BETWEEN)
        side = next((x.side for x in own if x.side), "")
        role = next((x for x in own if x.role is not None), None)
        if role is not None and role.role is not None:
            return Subject("role", role.role.role, role.side)
        said = " ".join(x.text.lower() for x in self.unit.lexemes)
        loose = next((x for x in own if x.loose is not None), None)
        for word, name in _JOBS:
            own_word = f"what {word}" in said or f"which {word}" in said
            loose_only = word in ("siding", "sheathing", "flooring", "floor") and loose is None
            if word in said and (own_word or not loose_only):
                return Subject("role", name, side)
        if m is not None and m.space:
            return Subject("role", "drainage", side)
        told = [
            x
            for x in self.scene.mentions
            if x.material and "thermal control" in load_materials()[x.material].roles
        ]
        if "crawl" in said and any(word in said for word in ("dirt", "ground", "plastic")):
            return Subject("role", "ground cover", side)
        if "outside" in said:
            return Subject("role", "insulation", "outside")
        return None if told else Subject("role", "insulation", side)

    # -- sections --------------------------------------------------------------------------------

    def assembled(self, mentions: list[Mention], without: Mention | None = None) -> Section | None:
        """The section of these mentions; `without` what an amount is asked of, which still tells that nothing else
        insulates in its place."""
        # What another takes the place of is not there.
        kept = [replace(m, negated=True) if m.replaces else m for m in mentions]
        if self.intent == "what went wrong":
            kept = [replace(m, negated=False) if m.removed else m for m in kept]
        if self.intent == "how much" and self.subject is not None and "spray foam" in self.subject.material:
            kept = [m for m in kept if not self.same(m, self.subject) or m is self.subject]
        made = assemble(self.scene, kept, self.scene.mentions)
        self.unplaced += [m.lexeme.text for m in made.unplaced]
        if without is not None:
            gone = {p.material for p in made.pieces if p.at == without.lexeme.start} | {without.material}
            made.pieces = [p for p in made.pieces if not (p.material in gone and p.part != "cavity")]
            made.open = [o for o in made.open if o.material not in gone]
        self.taken += [t for t in made.taken if t not in self.taken]
        section = made.section(thickness=None if self.asks_thickness else self.usual(made))
        for o in made.open:
            self.open_gap(made, o)
        if self.intent == "safe here":
            for m in kept:
                if (
                    m.loose is not None
                    and m.loose.open
                    and any(p.material == m.material and p.name == "generic" for p in made.pieces)
                ):
                    self.open_gap(
                        made,
                        Open(
                            f"which {m.lexeme.text.lower()}",
                            f"it may be one of several: {m.loose.why}",
                            m.material,
                            m.loose.open,
                        ),
                    )
        return section

    def usual(self, made: Assembly) -> dict[str, str]:
        """A usual thickness for each board that has none, taken where it is not what decides."""
        found: dict[str, str] = {}
        for o in made.open:
            if o.what.startswith("how thick"):
                deep = made.setting.kind == "roof" and made.setting.form == "low slope"
                found[o.material] = "4 in" if deep else "2 in"
                taken = Taken(
                    f"{found[o.material]} {o.material}",
                    "no thickness is told, and a usual one shows which way it goes",
                )
                if taken not in self.taken:
                    self.taken.append(taken)
        return found

    def open_gap(self, made: Assembly, o: Open) -> None:
        if any(g.what == o.what for g in self.gaps) or (
            o.what.startswith("how thick") and not self.asks_thickness
        ):
            return
        replies: list[tuple[str, Section]] = []
        for choice in o.choices:
            thick = o.what.startswith("how thick")
            section = (
                made.section(thickness={o.material: choice})
                if thick
                else made.section(instead={o.material: choice})
            )
            if section is not None:
                replies.append((choice, section))
        self.gaps.append(Gap(o.what, o.why[:1].upper() + o.why[1:] + ".", tuple(replies)))

    def without_and_with(self) -> tuple[Option, ...]:
        subject = self.subject
        assert subject is not None
        if self.attic_vents:
            return self.attic_closed_and_vented(subject)
        others = [
            replace(m, negated=True) if m.replaces else m
            for m in self.scene.mentions
            if m is not subject and not self.same(m, subject) and not self.meant_again(m, subject)
        ]
        told = [
            m for m in self.scene.mentions if m is not subject and self.same(m, subject) and not m.negated
        ]
        for m in told:
            subject = _fuller(subject, m)
        gone = replace(subject, negated=True, loose=None)
        before = self.scene
        if self.fills(subject, others):
            before = replace(self.scene, empty=True)
            blown = subject.material.startswith(("dense", "blown", "loose", "injected"))
            if (
                blown or self.scene.existing or self.scene.empty
            ) and "work" not in self.scene.setting.building:
                self.scene.setting.building["work"] = "retrofit"
                self.taken.append(Taken("a retrofit", "the cavities of a wall that stands are filled"))
        without = assemble(before, [*others, gone], self.scene.mentions)
        asked_for = _asserted(subject)
        if subject.loose is not None and subject.loose.decides:
            asked_for.material = ""
        added = assemble(self.scene, [*others, asked_for], self.scene.mentions)
        label = subject.label or subject.lexeme.text.lower()
        if subject.role is not None and subject.role.text:
            text, id_ = role_text(subject, added.setting.kind, added.setting.form)
            label = id_
            self.taken.append(Taken(f"{text} for the {subject.lexeme.text.lower()}", subject.role.why))
            covered = _of_role(subject)
            without = assemble(
                self.scene, [*(m for m in others if m.material not in covered), gone], self.scene.mentions
            )
            present = [m for m in others if m.material in covered and not m.negated]
            if present:
                label = present[0].material
                added = assemble(self.scene, others, self.scene.mentions)
        self.taken += [t for t in (*without.taken, *added.taken) if t not in self.taken]
        for o in added.open:
            self.open_gap(added, o)
        if subject.loose is not None and subject.loose.open:
            self.open_gap(
                added,
                Open(
                    f"which {subject.lexeme.text.lower()}",
                    f"it may be one of several, {subject.loose.why}",
                    subject.material,
                    subject.loose.open,
                ),
            )
        a = self.plain(without, subject)
        b = added.section(thickness=None if self.asks_thickness else self.usual(added))
        if a is None or b is None:
            return ()
        return (Option(f"without {label}", a), Option(f"with {label}", b))

    def meant_again(self, m: Mention, subject: Mention) -> bool:
        """Whether a job that is told before is that of the question: `he says forget the barrier. Do I need a barrier?`"""
        if (
            self.intent == "add"
            or m.role is None
            or subject.role is None
            or _ANOTHER.search(self.text.lower())
        ):
            return False
        return m.role.role == subject.role.role and (not m.side or not subject.side or m.side == subject.side)

    def attic_closed_and_vented(self, vents: Mention) -> tuple[Option, ...]:
        """The roof over an attic whose vents are closed, and over one that has them."""
        others = [m for m in self.scene.mentions if m is not vents and not m.space]
        made = assemble(self.scene, others, self.scene.mentions)
        self.taken += [t for t in made.taken if t not in self.taken]
        vented = made.section(thickness=self.usual(made))
        for p in made.pieces:
            p.text = p.text.replace(ATTIC_SPACE, ATTIC_SPACE.removesuffix(" vented"))
        closed = made.section(thickness=self.usual(made))
        if vented is None or closed is None or vented == closed:
            return ()
        return (Option("without attic ventilation", closed), Option("with attic ventilation", vented))

    def sought(self, m: Mention, subject: Subject) -> bool:
        """Whether a word of the question only names what is sought: `what insulation`, `which sheathing`."""
        here = m.lexeme in self.unit.lexemes or "insulation" in m.lexeme.text.lower()
        if m.loose is None or not here or m.r or m.thickness:
            return False
        job = "thermal control" if "insulation" in subject.name else subject.name
        takes = [i for i in (m.loose.takes, *m.loose.decides) if i]
        return any(job in load_materials()[i].roles for i in takes)

    def in_cavity(self, m: Mention) -> bool:
        """Whether a layer fills what lies between framing members."""
        kind, form = self.scene.setting.kind or "wall", self.scene.setting.form
        part = part_of(m.material, kind, form, m.side, True) if m.material and not m.negated else ""
        return part in ("cavity", "cavity foam")

    def fills(self, subject: Mention, others: list[Mention]) -> bool:
        """Whether what is put in fills a cavity of which nothing is told: an empty one then, not a filled one."""
        told = self.scene.cavity_r or any(self.in_cavity(m) for m in others)
        return self.intent == "add" and self.in_cavity(subject) and not told

    def plain(self, without: Assembly, subject: Mention) -> Section | None:
        """The section without the subject: where it is what goes without saying, that goes too."""
        if subject.material:
            gone = [p for p in without.pieces if p.material == subject.material and not p.said]
            for p in gone:
                without.pieces.remove(p)
        return without.section(thickness=None if self.asks_thickness else self.usual(without))

    @staticmethod
    def same(a: Mention, b: Mention) -> bool:
        if a.space.startswith("3/4 in air space") and b.space.startswith("3/4 in air space"):
            # `the gap`, `a rain screen`: one space behind one cladding.
            return not (a.thickness and b.thickness and a.thickness != b.thickness)
        return bool(
            a.material
            and a.material == b.material
            and not (a.thickness and b.thickness and a.thickness != b.thickness)
        )

    def crawl_vented_or_closed(self) -> tuple[Option, ...]:
        """A floor over a crawl space that is vented, and over one that is closed."""
        out = []
        for label, form in (("vented crawl space", "crawl"), ("unvented crawl space", "conditioned")):
            setting = replace(self.scene.setting, form=form)
            layers = [m for m in self.scene.mentions if not m.space]
            made = assemble(replace(self.scene, setting=setting), layers, self.scene.mentions)
            section = made.section(thickness=self.usual(made))
            if section is not None:
                out.append(Option(label, section))
        self.taken += [t for t in made.taken if t not in self.taken] if out else []
        return tuple(out) if len(out) == 2 else ()

    def inside_or_outside(self) -> tuple[Option, ...]:
        """`Insulate the foundation inside or outside?`: the insulation that is named, or the usual board, on either side."""
        scene = self.scene
        foam = [m for m in scene.mentions if m.material and not m.negated and _is_foam(m)]
        if len(foam) > 1:
            return ()
        board = foam[0] if foam else Mention(
            Lexeme(self.unit.start, self.unit.start, "", "material", _BOARD, _BOARD), material=_BOARD, thickness="2 in"
        )  # fmt: skip
        if not foam:
            self.taken.append(
                Taken(f"2 in {_BOARD}", "no insulation is named; a usual board shows what the side does")
            )
        others = [m for m in scene.mentions if m is not board]
        out = []
        for side in ("inside", "outside"):
            one = replace(
                board, side=side, relation="", target=None, joints=board.joints or "taped", loose=None
            )
            made = assemble(scene, [*others, one], scene.mentions)
            self.taken += [t for t in made.taken if t not in self.taken]
            section = made.section(thickness=self.usual(made))
            if section is not None:
                out.append(Option(f"{board.material} {side}", section))
        return tuple(out) if len(out) == 2 else ()

    def named_by_job(self) -> list[Mention]:
        """The mentions, with what is told by its job (`the vapor retarder`) as the usual layer that does it."""
        setting = self.scene.setting
        out = []
        for m in self.scene.mentions:
            if m.role is not None and m.role.text and not m.material:
                # Its gauge is part of the name: `15 mil vapor retarder`.
                m = replace(m, material=role_text(m, setting.kind, setting.form)[1], role=None, thickness="")
            out.append(m)
        return out

    def over_or_under(self) -> tuple[Option, ...]:
        """`Does the sheet go over the foam or under it?`: the section with it in either place."""
        if self.intent in (
            "how much",
            "what is",
            "why not always",
            "what went wrong",
            "cheapest",
            "leave out",
        ):
            return ()
        undecided = self.intent in ("which", "what to use") and len(self.compared) < 2
        kind = self.scene.setting.kind or "wall"
        found = two_places(self.whole, self.unit.start, self.unit.end, self.named_by_job(), kind, undecided)
        out = []
        for label, placed in found.places if found is not None else ():
            assert found is not None
            made = assemble(self.scene, [*found.others, placed], self.scene.mentions)
            self.taken += [t for t in made.taken if t not in self.taken]
            section = made.section(thickness=self.usual(made))
            if section is not None:
                out.append(Option(label, section))
        return tuple(out) if len(out) == 2 and out[0].section.layers != out[1].section.layers else ()

    def two_sizes(self) -> tuple[Option, ...]:
        """`1 or 2 inches of XPS`: one layer in two thicknesses."""
        if self.intent not in ("which", "what to use", "safe here", "how much", "need", "add"):
            return ()
        for x in self.unit.lexemes:
            m = next((m for m in self.scene.mentions if x.sort == "length" and m.thickness == x.value), None)
            if m is None or not m.material or not re.search(r"\bor\b", x.text.lower()):
                continue
            low, _, rest = x.value.partition(" to ")
            high, _, unit = rest.partition(" ")
            out = []
            for size in (f"{low} {unit}", f"{high} {unit}"):
                mentions = [replace(o, thickness=size) if o is m else o for o in self.scene.mentions]
                made = assemble(self.scene, mentions, self.scene.mentions)
                self.taken += [t for t in made.taken if t not in self.taken]
                section = made.section(thickness=self.usual(made))
                if section is not None:
                    out.append(Option(f"{size} {m.material}", section))
            return tuple(out) if len(out) == 2 else ()
        return ()

    def vented_or_not(self) -> tuple[Option, ...]:
        """A roof with a vented space over its insulation, and the same filled up to its deck."""
        form = self.scene.setting.form
        setting = replace(self.scene.setting, form="cathedral" if form == "unvented" else form)
        scene = replace(self.scene, setting=setting)
        others = [m for m in scene.mentions if not m.space]
        lexeme = Lexeme(self.unit.start, self.unit.start, "", "space", VENT_SPACE, VENT_SPACE)
        out = []
        for label, more in (("vented air space", [Mention(lexeme, space=VENT_SPACE)]), ("unvented", [])):
            made = assemble(scene, [*others, *more], self.scene.mentions)
            self.taken += [t for t in made.taken if t not in self.taken]
            section = made.section(thickness=self.usual(made))
            if section is not None:
                out.append(Option(label, section))
        return tuple(out) if len(out) == 2 else ()

    def side_by_side(self) -> tuple[tuple[Option, ...], Section | None]:
        out: list[Option] = []
        chosen = [
            m
            for m in self.compared
            if m.material or m.role is not None or m.space or (m.loose and m.loose.decides)
        ]
        roles = {r for m in chosen if m.material for r in load_materials()[m.material].roles}
        roles |= (
            {"vapor control"}
            if any(m.material in ("latex paint", "kraft-faced glass fiber batt") for m in chosen)
            else set()
        )
        others = [
            m
            for m in self.scene.mentions
            if m not in self.compared and not (m.role is not None and m.role.role in roles)
        ]
        if any(m.material and _is_foam(m) for m in chosen):
            # `Foam under the deck: open cell or closed cell`: the word for what is compared.
            others = [m for m in others if m.lexeme.text.lower() not in _FOAMS or m.thickness or m.r]
        beside = {id(m): self.companions(m, chosen) for m in chosen}
        shared = {id(c) for cs in beside.values() for c in cs}
        others = [o for o in others if id(o) not in shared]
        fill = any(self.in_cavity(m) for m in chosen) and not any(self.in_cavity(m) for m in others)
        for m in chosen:
            one = _asserted(m)
            one.replaces = False
            part_mates = [*(o for o in others if not self.same(o, m)), *beside[id(m)]]
            # Of `batts between the joists or foam above` the second leaves the joists empty.
            scene = replace(self.scene, empty=True) if fill and not self.in_cavity(m) else self.scene
            made = assemble(scene, [*part_mates, one], self.scene.mentions)
            self.taken += [t for t in made.taken if t not in self.taken]
            for o in made.open:
                self.open_gap(made, o)
            section = made.section(thickness=self.usual(made))
            if section is not None:
                label = " with ".join([one.label or m.lexeme.text.lower(), *(c.label for c in beside[id(m)])])
                out.append(Option(label, section))
        return tuple(out), out[0].section if out else None

    def companions(self, m: Mention, chosen: list[Mention]) -> list[Mention]:
        """`kraft batts, or unfaced with poly over them`: sheets that belong to one of two alternatives alone."""
        ends = [o.lexeme.start for o in chosen if o.lexeme.start > m.lexeme.start]
        until = min(ends, default=self.unit.end)
        out = []
        for c in self.scene.mentions:
            if c in chosen or c.negated or not c.material or not m.lexeme.end <= c.lexeme.start < until:
                continue
            between = self.whole[m.lexeme.end : c.lexeme.start].lower()
            alone = not any(o is not c and o.material == c.material for o in self.scene.mentions)
            sheet = "vapor control" in load_materials()[c.material].roles
            if sheet and alone and _TOGETHER.match(between) is not None:
                out.append(c)
        return out

    # -- gaps ------------------------------------------------------------------------------------

    def no_section(self) -> None:
        if any(g.what == "kind" for g in self.gaps):
            return
        made = assemble(
            self.scene, [m for m in self.scene.mentions if m is not self.subject], self.scene.mentions
        )
        if not made.setting.kind:
            replies = []
            lying = self.scene.noun == "joist" or self.scene.size in DEEP
            for kind in ("roof", "floor", "wall") if lying else ("wall", "roof", "foundation wall"):
                scene = replace(self.scene, setting=replace(self.scene.setting, kind=kind), kind_sure=2)
                section = assemble(scene, [m for m in scene.mentions if m is not self.subject]).section()
                if section is not None:
                    replies.append((f"a {kind}", section))
            self.gaps.append(
                Gap("kind", "Walls, roofs and foundations get wet and dry in different ways.", tuple(replies))
            )
        else:
            self.gaps.append(Gap("layers", "Without its layers there is nothing to calculate."))

    def layers_gap(self) -> None:
        """A verdict on a section of which no layer is told would be one on what was assumed."""
        s = self.scene
        told = [m for m in s.mentions if m.material and not m.negated and not _faces_only(m)]
        described = told or s.cavity_r or s.outside_r or s.empty or any(g.what == "layers" for g in self.gaps)
        if self.intent in ("safe here", "what went wrong", "cheapest") and not described:
            self.gaps.insert(
                0,
                Gap(
                    "layers",
                    "No layer is named: the insulation, the sheathing and what lies on the room side decide.",
                ),
            )

    def choice_gap(self, options: tuple[Option, ...]) -> None:
        """A choice needs two things that would lie in one place."""
        if len(options) == 1:
            self.gaps.append(
                Gap("the other one", f"Of what is to be chosen from only {options[0].label} was read.")
            )
        elif len(options) == 2 and len(self.compared) == 2:
            a, b = self.compared
            if b.replaces and not are_rivals(a, b, self.scene):
                self.gaps.append(
                    Gap(
                        f"what stands instead of {b.label}",
                        f"{a.label} lies elsewhere and can't take its place.",
                    )
                )

    def kind_gap(self, base: Section | None) -> None:
        """Where what is told speaks for another kind of section than the one that was taken."""
        if base is None or any(g.what == "kind" for g in self.gaps):
            return
        kinds = doubtful(self.scene, self.said(), base.kind)
        if not kinds:
            return
        replies = []
        for kind in (base.kind, *kinds):
            scene = replace(self.scene, setting=replace(self.scene.setting, kind=kind, form=""), kind_sure=3)
            section = assemble(scene, [m for m in scene.mentions if m is not self.subject]).section()
            if section is not None:
                replies.append((f"a {kind}", section))
        self.gaps.insert(
            0,
            Gap("kind", f"It may be a {' or a '.join((base.kind, *kinds))}, and those get wet and dry in different ways.",
                tuple(replies)),
        )  # fmt: skip

    def said(self) -> str:
        """The words that describe the section, lower case."""
        return " ".join(x.text.lower() for u in self.around for x in u.lexemes)

    def place_gap(self, base: Section | None) -> None:
        scene = self.scene
        if (
            scene.setting.place
            or scene.setting.zone
            or self.intent not in (*_NEEDS_PLACE, "what went wrong", "why not always")
        ):
            return
        if self.intent == "why not always" or (self.intent == "what went wrong" and base is None):
            return
        choices = scene.choices or tuple((z, z) for z in _CLIMATES.get(scene.climate, _EXAMPLES))
        replies: list[tuple[str, Section]] = []
        for name, where in choices[:4]:
            if base is not None and (section := _placed(base, where)) is not None:
                replies.append((name, section))
        why = "The climate decides how cold the layers get and which way vapor goes."
        if abroad := places.abroad(self.whole):
            why = f"No climate of {abroad} is held here; name a zone, or a place in the United States or Canada with the same climate."
        elif scene.place_lexeme is not None:
            why = f'"{scene.place_lexeme.text}" is {scene.place_lexeme.reads}; ' + why[0].lower() + why[1:]
        self.gaps.insert(0, Gap("place", why, tuple(replies)))

    def notes(self) -> None:
        self.taken += [
            Taken(what, why) for what, why in self.scene.notes if Taken(what, why) not in self.taken
        ]


_MEASURED = frozenset(
    (
        "thick",
        "thickness",
        "much",
        "many",
        "inch",
        "mm",
        "cm",
        "r",
        "rsi",
        "deep",
        "thin",
        "little",
        "minimum",
        "amount",
    )
)


_JOBS = (
    ("retarder", "vapor control"), ("vapor", "vapor control"), ("vapour", "vapor control"), ("insulat", "insulation"), ("foam", "insulation"),
    ("sheathing", "sheathing"), ("siding", "cladding"), ("cladding", "cladding"), ("flooring", "flooring"), ("wrap", "water control"),
    ("wrb", "water control"), ("underlayment", "water control"), ("air barrier", "air barrier"), ("air seal", "air barrier"), ("under a slab", "vapor control"), ("under the slab", "vapor control"),
    ("batt", "insulation"), ("r-value", "insulation"), ("warm side", "vapor control"), ("rim joist", "insulation"), ("bays", "insulation"),
)  # fmt: skip
"""Words in a search for something, and the function that is sought."""


def _placed(section: Section, where: str) -> Section | None:
    from reviewer.answers.context import at_place

    return at_place(section, where)


def _of_role(m: Mention) -> set[str]:
    assert m.role is not None
    return (
        {id_ for id_ in load_materials() if id_ in _RETARDERS}
        if m.role.role == "vapor control"
        else {m.role.takes}
    )


def _of_the_deck(m: Mention) -> bool:
    """Whether it lies on a roof deck, so that a question about it is one about the deck above an attic."""
    if m.role is not None or not m.material or m.side == "inside":
        return False
    return part_of(m.material, "roof", "cathedral", m.side, True) in (
        "deck sheet",
        "sheet",
        "sheathing",
        "cover",
        "roofing",
    )


_WHOLE = frozenset(("flooring", "cladding", "roofing"))
"""Parts without which a section is none."""


def makes_whole(subject: Mention, scene: Scene) -> bool:
    """Whether what is put in is what such a section has anyhow, and nothing else was told in its place."""
    if not subject.material or subject.negated:
        return False
    kind, form = scene.setting.kind or "wall", scene.setting.form
    part = part_of(subject.material, kind, form, subject.side, True)
    blown = subject.material.startswith(("dense", "blown", "loose", "injected"))
    fills = part in ("cavity", "cavity foam") and not (scene.existing or scene.empty or blown)
    sprayed = "spray foam" in subject.material
    fills = fills and not (sprayed and (kind in ("roof", "floor") or has_masonry(scene.mentions)))
    told = [
        m
        for m in scene.mentions
        if m is not subject and m.material and not m.negated
        and part_of(m.material, kind, form, m.side, True) in (part, *(("cavity", "cavity foam") if fills else ()))
    ]  # fmt: skip
    return (part in _WHOLE or fills) and not told and not (fills and scene.cavity_r)


_RETARDERS = frozenset(("polyethylene sheet", "polyethylene sheet 4 mil", "polyethylene sheet 2 mil", "kraft paper", "aluminum foil",
                        "variable-permeance retarder", "vapor retarder paint", "polyethylene sheet 10 mil", "slab vapor retarder",
                        "slab vapor retarder 15 mil", "cross-laminated polyethylene", "self-adhered roof vapor retarder",
                        "variable-permeance retarder with fabric", "polyethylene sheet 8 mil"))  # fmt: skip


def _fuller(m: Mention, other: Mention) -> Mention:
    """A mention with what another one of the same thing says beyond it."""
    return replace(
        m,
        r=m.r or other.r,
        thickness=m.thickness or other.thickness,
        joints=m.joints or other.joints,
        condition=m.condition or other.condition,
        side=m.side or other.side,
        relation=m.relation or other.relation,
        target=m.target or other.target,
    )


def _asserted(m: Mention) -> Mention:
    return replace(m, negated=False, alternative_to=None)


__all__ = ["Maker", "makes_whole"]
