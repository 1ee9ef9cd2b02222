"""Speakers on a tap: what they come to together, and what each bears."""

from __future__ import annotations

import re

from app.bench.sums.kinds import Answer, Cited, Figure, Given, Sum, choice, judged, ours, quantity, tell, words
from app.electrics import LOAD_CAUTION, ElectricsError, NotationError, parse, speaker_load

MATTER = "Output transformer"


def read_ohms(text: str) -> list[float]:
    """'8, 8, 16' as ohms; ElectricsError names the piece that is none."""
    found = []
    for piece in re.split(r"[,;+\s]+", text.replace("Ω", " ").strip()):
        try:
            found.append(parse(piece, unit="ohm"))
        except NotationError as wrong:
            raise ElectricsError("ohms", piece, "ohms with commas between, such as 8, 8") from wrong
    return found


def _speakers(given: Given) -> Answer:
    power = given.maybe("power_w")
    ohms = read_ohms(given.word("ohms"))
    found = speaker_load(ohms=ohms, wiring=given.word("wiring"), nominal_ohm=given.number("nominal_ohm"), power_w=power,
                         rated_w=given.maybe("rated_w"))
    figures = [Figure("load_ohm", "Together", found.load_ohm, "ohm"), Figure("ratio", "Over the tap", found.found.ratio, "×"),
               Figure("seen_ohm", "The anodes see", found.found.ratio * given.number("primary_ohm"), "ohm")]
    figures += [Figure(f"each_{number}_w", f"Number {number}, {tell(ohm, 'ohm')}", watt, "W")
                for number, (ohm, watt) in enumerate(zip(ohms, found.each_w, strict=False), start=1)]
    return Answer(f"Together they are {tell(found.load_ohm, 'ohm')} on the {tell(given.number('nominal_ohm'), 'ohm')} tap. "
                  f"{ours(found.found.words)}", tuple(figures), verdict=judged(found.limits), limits=found.limits)


SPEAKERS = Sum(
    "speakers", MATTER, "Speakers", "Several on one tap: the mismatch, and the power that each takes.",
    (words("ohms", "Each of them", "8, 8", "Ohms, with commas between."),
     choice("wiring", "Wired", (("parallel", "in parallel"), ("series", "in series")), "parallel", chips=True),
     quantity("nominal_ohm", "Tap", "ohm", "8"), quantity("primary_ohm", "Primary, with the right load", "ohm", "5k6"),
     quantity("power_w", "Power of the amp", "W", "50", optional=True),
     quantity("rated_w", "Rated, the least of them", "W", "", "As printed on it.", optional=True)),
    _speakers, "In parallel conductances add up, in series ohms; the load that the anodes see is multiplied by load over tap.",
    (Cited("C", "Ohm's law, ideal transformer."),
     Cited("M", "To 2 : 1 either way tolerable at moderate level: common practice, no source.")), LOAD_CAUTION)

SUMS = (SPEAKERS,)
