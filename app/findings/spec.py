"""What is asked about a finding and about a usual one: field by field, for the form, the facts and the journal."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from app.findings.rules.life import CHOICES, Area, Confidence, DecidedBy, Disposition, Origin
from app.findings.rules.risk import EQUIPMENT, FUNCTION, Probability, Severity
from app.findings.rules.signs import Sign, signs_in, stored
from app.kernel.spec import Choice, Files, Flag, Several, Text, asked, values, words
from app.photos.spec import Pinned

NOT_SAID = "not said"
LIKELY = "Chance of this injury in the amp’s remaining life"
SEVERITIES = {int(severity): severity.word for severity in Severity}
PROBABILITIES = {probability.value: probability.word for probability in Probability}


@dataclass(frozen=True)
class FindingFacts:
    """What is said about a finding, apart from its decision and its end.

    Severity 0 to 4 and probability a to h as in rules.risk; both None while the hazard is not judged yet.
    """

    observation: str = asked(Text("What was found", "Enter what was seen or measured.", longest=300))
    area: Area = asked(Choice("Where in the amp", None, words=values(Area), drop_down=True))
    place: str = asked(Text("Which one", longest=120), "")
    origin: Origin = asked(Choice("It comes from", "Choose where it comes from.", words=values(Origin)), Origin.WEAR)
    severity: int | None = asked(Choice("Could hurt", words=SEVERITIES, journal="could hurt"), None)
    probability: str | None = asked(Choice(LIKELY, words=PROBABILITIES, blank=NOT_SAID, drop_down=True, journal="likely"), None)
    hazard: str = asked(Text("How it could hurt", longest=300), "")
    check_words: str = asked(Text("Proved by", longest=300, journal="check"), "")
    cause: str = asked(Text("Cause", longest=300), "")
    confidence: Confidence = asked(Choice("The cause is", "Choose how sure the cause is.", words=values(Confidence)),
                                   Confidence.PROBABLE)
    equipment_severity: int | None = asked(Choice("Harm to the amp", words=EQUIPMENT, blank=NOT_SAID, drop_down=True,
                                                  journal="equipment"), None)
    function_severity: int | None = asked(Choice("Harm to its sound", words=FUNCTION, blank=NOT_SAID, drop_down=True,
                                                 journal="function"), None)
    signs: str = asked(Several("Signs that need extra checks", words=values(Sign), join=stored, split=signs_in,
                               said=lambda signs: signs.replace("|", ", ")), "")
    track: str = asked(Text("Arc track: valve and pins", longest=40, journal="arc track"), "")
    code: str = asked(Text("", sort="hidden", journal="catalogue"), "")


@dataclass(frozen=True)
class Decided:
    """What becomes of it. Entered with the finding, journaled as an act of its own."""

    disposition: Disposition | None = asked(Choice("Decision", words=words(CHOICES)), None)
    disposition_words: str = asked(Text("In detail", longest=300), "")
    authority: DecidedBy = asked(Choice("Who decides", "Choose who decides.", words=values(DecidedBy)), DecidedBy.TECHNICIAN)


@dataclass(frozen=True)
class Shown(Pinned):
    """The photos that show it."""

    photos: tuple[Any, ...] = asked(Files("Another photo of it"), ())


def _as_kept(value: Any) -> Any:
    return getattr(value, "value", value)


@dataclass(frozen=True)
class UsualFacts:
    """One usual finding: everything that a chip fills in. Severity 0 to 4, probability a to h, as in rules.risk."""

    code: str = asked(Text("Code", "Enter a code such as BRD-05.", longest=10, journal=None))
    area: Area = asked(Choice("Where in the amp", None, words=values(Area), drop_down=True))
    short: str = asked(Text("Short name (button)", "Enter two or three words.", longest=40))
    observation: str = asked(Text("What is seen", "Enter what is seen or measured.", longest=300))
    cause: str = asked(Text("Usual cause", longest=300))
    origin: Origin = asked(Choice("It comes from", "Choose where it comes from.", words=values(Origin)))
    severity: int = asked(Choice("Could hurt", "Choose the injury severity.", words=SEVERITIES, said=_as_kept))
    probability: str | None = asked(Choice(LIKELY, words=PROBABILITIES, blank=NOT_SAID, drop_down=True, said=_as_kept))
    hazard: str = asked(Text("How it could hurt", longest=300))
    equipment_severity: int | None = asked(Choice("Harm to the amp", words=EQUIPMENT, blank=NOT_SAID, drop_down=True,
                                                  said=_as_kept))
    function_severity: int | None = asked(Choice("Harm to its sound", words=FUNCTION, blank=NOT_SAID, drop_down=True,
                                                 said=_as_kept))
    disposition: Disposition = asked(Choice("Usual decision", "Choose what is usually decided.", words=words(CHOICES),
                                            said=_as_kept))
    disposition_words: str = asked(Text("In detail", longest=300))
    check_words: str = asked(Text("Proved by", "Enter which check proves the repair.", longest=300))
    signs: str = asked(Several("Signs that need extra checks", words=values(Sign), join=stored, split=signs_in), "")
    retired: bool = asked(Flag("No longer offered"), False)
