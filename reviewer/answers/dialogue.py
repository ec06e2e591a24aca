"""Questions one after the other, each understood from the one before: on a terminal, or a line at a time from a pipe."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from reviewer.answers.answer import replies
from reviewer.answers.compute import Desk, transplant
from reviewer.answers.reading import Option, Reading
from reviewer.reply import Replies

Reader = Callable[[str, "Reading | None"], Sequence[Reading]]
"""Reads a text, given what was read before."""
STOP = frozenset({"quit", "exit", "bye", "q", "stop", "done"})
OPENING = (
    "Ask about a wall, roof, foundation, floor or slab, as you would write to a consultant. Each question may go on from "
    'the one before: "and in Chicago?", "same wall with plywood". An empty line or "quit" ends.'
)
PROMPT = "> "


@dataclass(slots=True)
class Dialogue:
    """What was understood and asked back so far."""

    read: Reader
    desk: Desk
    before: Reading | None = None
    waiting: Reading | None = None
    """The reading that was asked back, whose answer may come as one of the replies offered."""

    def say(self, text: str) -> Replies:
        """The replies to a line. Never raises for what it says."""
        chosen = self._chosen(text)
        if chosen is not None:
            readings: Sequence[Reading] = [chosen]
        else:
            readings = self.read(text, self.before)
        found = replies(text, readings, self.desk)
        self.waiting = None
        for reading, reply in zip(readings, found.replies, strict=True):
            if reading.base is not None or reading.options:
                self.before = reading
            if reply.status == "asked back":
                self.waiting = reading
        return found

    def _chosen(self, text: str) -> Reading | None:
        """The reading that was asked back, completed by one of the replies it offered."""
        if self.waiting is None:
            return None
        said = " ".join(text.casefold().split()).strip(" .!?")
        for n, gap in enumerate(self.waiting.gaps):
            for k, (label, section) in enumerate(gap.replies, 1):
                if said in (label.casefold(), str(k) if len(self.waiting.gaps) == 1 else ""):
                    base = self.waiting.base
                    options = self.waiting.options
                    if base is not None:
                        options = tuple(
                            Option(o.label, transplant(base, o.section, section)) for o in options
                        )
                    left = tuple(g for m, g in enumerate(self.waiting.gaps) if m != n)
                    return replace(self.waiting, base=section, options=options, gaps=left)
        return None


def talk(dialogue: Dialogue, lines: Iterable[str], skip_empty: bool) -> Iterator[Replies]:
    """Replies to lines until they end or the asker stops; `skip_empty`: empty lines don't stop it."""
    for line in lines:
        text = line.strip()
        if not text and skip_empty:
            continue
        if not text or text.casefold() in STOP:
            return
        yield dialogue.say(text)
