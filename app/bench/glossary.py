"""What the product's words mean, one thing a word, for the page that says so. Written in valve words. Pure."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Term:
    """A word and what it means; `own` for the few that are this program's and not the trade's."""

    word: str
    meaning: str
    own: bool = False


TERMS: tuple[Term, ...] = tuple(sorted((
    Term("tag strip", "The drawing of the seven stages of a repair, one lug for each.", own=True),
    Term("lug", "One stage on the tag strip.", own=True),
    Term("made off", "Said of a lug whose stage is finished.", own=True),
    Term("way back", "The computed order of reassembly.", own=True),
    Term("balance", "For each type of hardware: taken off + issued = fitted + scrapped + returned. Anything else holds the amp.",
         own=True),
    Term("bench", "The list of amps in work.", own=True),
    Term("held", "Said of a lug whose stage a gate bars."),
    Term("gate", "What must be recorded before a stage ends."),
    Term("repair", "One job on one amp, with a number."),
    Term("check in", "To take an amp in."),
    Term("intake", "What was recorded when the amp was checked in."),
    Term("teardown", "The stage in which the amp is opened, findings are recorded and parts are removed."),
    Term("return", "Giving the amp back."),
    Term("change technician", "Passing an open amp on to another technician, who counts its pieces."),
    Term("waste transfer", "Giving waste to a carrier."),
    Term("finding", "Something observed, with cause, hazard, disposition and the check that proves its repair."),
    Term("hazard", "How someone could be hurt."),
    Term("risk", "The grade computed from injury severity and its chance: serious, high, medium, low, none."),
    Term("danger check", "A look from outside at intake, before anything is switched on."),
    Term("do not energise", "The mark that bars power from an amp."),
    Term("set aside", "Said of a part that is put apart and not used."),
    Term("disposition", "What was decided about a finding or a part."),
    Term("done", "Said of a finding whose work is carried out and not yet checked."),
    Term("check", "The test that proves a finding repaired."),
    Term("proved", "Said of a finding whose check is recorded."),
    Term("declined", "Said of a finding whose repair the customer refused in writing."),
    Term("withdrawn", "Counts no more, and is kept with its reason."),
    Term("struck out", "Entered in error: counts no more, and is kept with its reason."),
    Term("cancelled", "Said of a part that is no longer needed."),
    Term("discharge record", "That the supply was measured below the shop’s limit after discharge, when, by whom and with what."),
    Term("disabled", "What was done to an amp that leaves unrepaired, so that nobody powers it unawares."),
    Term("removal", "One part taken off, with its place, pieces and wires."),
    Term("part tag", "The label of a removal, such as P1."),
    Term("test tag", "The label of a safety test."),
    Term("do-not-use tag", "The label on an amp that leaves unrepaired."),
    Term("piece", "A loose screw, nut or washer."),
    Term("stack", "Pieces in order, from the outside to the inside."),
    Term("step", "One act on the way back."),
    Term("closing count", "The count of all pieces before an enclosure is closed."),
    Term("orientation", "Where a part’s key, tab or + points."),
    Term("sub-assembly", "What stays together when it comes off."),
    Term("board sheet", "A board checked part by part."),
    Term("bake-out", "Drying a board that leaks."),
    Term("item", "One priced entry of a quote."),
    Term("quote", "The offer to the customer, in numbered revisions that never change once issued."),
    Term("total", "The sum of the items."),
    Term("cost limit", "The most that may be charged."),
    Term("committed", "The work and parts to date that the customer would have to pay for."),
    Term("variation", "A change that the customer approved later."),
    Term("approval", "A customer’s consent, with name, time and channel."),
    Term("test point", "A place where a reading is taken."),
    Term("limits", "The lowest and the highest value allowed."),
    Term("instrument", "A meter or tester with its accuracy and calibration."),
    Term("reading", "One measured value with its conditions."),
    Term("as found, as left", "Before the work, after the work, under the same conditions."),
    Term("uncertainty", "How far the instrument’s value can be from the true one."),
    Term("safety profile", "A set of limits of a safety test with their source."),
    Term("void", "Said of a safety test that no longer counts."),
    Term("soak run", "A powered run into a load, watched for a stated time."),
    Term("come-back", "An amp that returns with a claim."),
    Term("uncollected", "Said of an amp that nobody collected."),
    Term("calculation", "A sum of the bench, with its formula and source."),
    Term("history", "All entries about a record, in their order."),
    Term("paper", "A printed document, frozen when issued."),
    Term("checksum", "The SHA-256 of a file: another file has another one."),
), key=lambda term: term.word))
