"""A strip-down in the neutral form, recorded as a bench would: by the services of the removal ledger, in the order it came off.

Of the case only what a bench would know is recorded: what came off and how, in which cavity it lay, what closes which, what an
end carries, what is new. The plan of the order is then told in the checker's form. An act that the app does in one step with
another (a base is put in and tightened by one tap) is told at that step, in the order of the acts.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from app.db import session
from app.orders.models import RepairOrder
from app.reassembly.queries.way import ReassemblyState, way_back
from app.removals import queries as removals
from app.removals.rules import FIXINGS, LIFTED, Fate, Kind, OldPart, Side, WireEnd
from app.removals.service import record as record_service
from app.removals.spaces import implied_cavity
from app.removals.spec import RemovalFacts
from app.removals.stacks import Stack
from app.removals.usual import cavity_of
from tests.people import BY

Case = Mapping[str, Any]
NOW = datetime(2026, 3, 4, 10, 0, tzinfo=UTC)

# The trade's word for a kind → the kind that a bench taps. What is no kind of its own is a part or a wire.
KINDS = {
    "valve retainer": Kind.RETAINER, "screening can": Kind.RETAINER, "valve": Kind.VALVE, "output valve": Kind.OUTPUT_VALVE,
    "rectifier valve": Kind.VALVE_RECTIFIER, "valve rectifier": Kind.VALVE_RECTIFIER, "cabinet": Kind.CHASSIS,
    "chassis": Kind.CHASSIS, "cover": Kind.COVER, "top cover": Kind.COVER, "bottom plate": Kind.COVER, "back panel": Kind.COVER,
    "rear panel": Kind.PANEL, "steel case": Kind.COVER, "fuse": Kind.FUSE, "fuse holder": Kind.FUSE_HOLDER, "pot": Kind.CONTROL,
    "switch": Kind.CONTROL, "voltage selector": Kind.CONTROL, "jack": Kind.JACK, "phono socket": Kind.JACK,
    "jack, isolated": Kind.JACK_ISOLATED, "phono socket, isolated": Kind.JACK_ISOLATED, "lamp holder": Kind.LAMP,
    "fascia": Kind.PANEL, "front panel": Kind.PANEL, "IEC inlet": Kind.INLET, "filtered inlet": Kind.INLET,
    "earth stud": Kind.PROTECTIVE_EARTH, "protective earth conductor": Kind.PROTECTIVE_EARTH,
    "earth bonding lead": Kind.PROTECTIVE_EARTH, "bonding lead": Kind.PROTECTIVE_EARTH, "bonding strap": Kind.PROTECTIVE_EARTH,
    "tag board": Kind.TAG_BOARD, "turret board": Kind.TAG_BOARD, "eyelet board": Kind.TAG_BOARD, "bias board": Kind.TAG_BOARD,
    "printed board": Kind.PRINTED_BOARD, "reverb board": Kind.PRINTED_BOARD, "valve board": Kind.PRINTED_BOARD,
    "choke": Kind.CHOKE, "mains transformer": Kind.MAINS_TRANSFORMER,
    "output transformer": Kind.OUTPUT_TRANSFORMER, "can capacitor": Kind.CAN_CAPACITOR, "capacitor clamp": Kind.CLAMP,
    "cord clamp": Kind.CLAMP, "cord grip": Kind.CLAMP, "valve base": Kind.VALVE_BASE, "valve socket": Kind.VALVE_BASE,
    "loudspeaker": Kind.SPEAKER, "reverb tank": Kind.REVERB_TANK, "screening box": Kind.SCREENING_BOX, "screw": Kind.SCREW,
    "bolt": Kind.BOLT, "wood screw": Kind.WOOD_SCREW, "standoff": Kind.STANDOFF, "pillar": Kind.STANDOFF,
}
STAYS = {"(insert)": "chassis insert", "(chassis, bright)": "chassis"}  # words of a stack that are no loose piece


# The step of a measurement that every case has → the case's id of it.
PROOFS = {("PE", ""): "M1", ("ISO", ""): "M3", ("COLD", ""): "M3b", ("LAMP", ""): "M4", ("BIAS", ""): "M5", ("HT", ""): "M6",
          ("SMALL", ""): "M7", ("OUT", ""): "M8", ("DEAD", ""): "M9"}


@dataclass(frozen=True)
class Bench:
    """What a bench writes of one case beside its rows.

    `holds`: a fixing → all that it holds, as it is typed. `proofs`: (what, owner) of a step → the case's id of that measurement,
    beside PROOFS. `carries`: (id, HOST:PIN) → what that end carries.
    """

    holds: Mapping[str, str] = field(default_factory=dict)
    proofs: Mapping[tuple[str, str], str] = field(default_factory=dict)
    carries: Mapping[tuple[str, str], str] = field(default_factory=dict)


def cavities_of(case: Case) -> dict[str, str]:
    """The case's id of a count → what the bench calls the space: a board and a box say their own, else the case's words."""
    kinds = {row["id"]: kind_of(row) for row in [*case["removals"], *case["new"]]}
    return {row["id"]: next((name for lid, _ in row["closes"] if (name := implied_cavity(kinds[lid], lid))), row["words"])
            for row in case["counts"]}


def _output(name: str) -> bool:
    return re.search(r"EL34|EL84|6L6|6V6|KT|EL37|6BQ5", name) is not None


def kind_of(row: Mapping[str, Any]) -> Kind:
    """What a bench taps for a row of the case: an output valve by its type."""
    word = row["kind"]
    if word == "valve" and _output(row["name"]):
        return Kind.OUTPUT_VALVE
    if word == "bolt" and any("(ring)" in stack["outer_to_inner"] for stack in row["stacks"]):
        return Kind.EARTH_BOLT
    if word.startswith(("mains conductor", "mains lead", "mains cord")):
        return Kind.MAINS_LEAD
    return KINDS.get(word, Kind.WIRE if row["ends"] else Kind.PART)


def piece_of(word: str) -> str:
    """A piece as it is written in a stack."""
    if not word.startswith("("):
        return word
    plain = word.strip("()")
    return STAYS.get(word) or (plain if plain in ("chassis", "body", "board", "fascia", "cover", "box") else f"{plain} (captive)")


def record(order: RepairOrder, case: Case, bench: Bench, *, said: bool = True) -> None:
    """Record the whole strip-down by the ledger's service, then what is new; `said`: with the cavities that the case names."""
    cavities = cavities_of(case)
    closes = {lid: cavities[row["id"]] for row in case["counts"] for lid, _ in row["closes"]}
    lies = {thing: cavities[row["id"]] for row in reversed(case["counts"]) for thing in row["covers"]}
    off: set[str] = set()
    for row in [*sorted(case["removals"], key=lambda each: each["seq"]), *case["new"]]:
        made = [Stack(one.get("times", 1), tuple(piece_of(word) for word in one["outer_to_inner"])) for one in row["stacks"]]
        fate = Fate(row["fate"])
        facts = RemovalFacts(
            name=row["name"], kind=kind_of(row), unit=row["sub_assembly"] or "", place=row["place"] or "",
            cavity=lies.get(row["id"], "") if said else as_usual(order, row, off),
            closes=closes.get(row["id"], "") if said else "", side=Side(row["side"]) if row["side"] else None,
            fixed_to=bench.holds.get(row["id"], row["fixed_to"] or ""),
            under=tuple(name for name in row["was_under"] if name in off), stack=made[0].pieces if made else (),
            stack_times=made[0].times if made else 1, other_stacks=tuple(made[1:]), ends=_ends(row, case, bench),
            stays_on_loom=row["stays_on_loom"] and not row["stacks"], bag=f"bag {row['id']}", fate=fate,
            fate_reason="worn" if fate in (Fate.REPLACE, Fate.SCRAP) else "",
            old_part=OldPart.CUSTOMER if fate is Fate.REPLACE else None)
        record_service.record_removal(order, row["id"], facts, by=BY, now=NOW)
        off.add(row["id"])  # what came off later cannot have lain over it
        session().flush()


def as_usual(order: RepairOrder, row: Mapping[str, Any], off: set[str]) -> str:
    """The cavity that the form offers for it, untouched."""
    return cavity_of(kind_of(row), [name for name in row["was_under"] if name in off], removals.of_order(order))


def _ends(row: Mapping[str, Any], case: Case, bench: Bench) -> tuple[WireEnd, ...]:
    found = []
    for end in row["ends"]:
        host, _, pin = end["at"].rpartition(":")
        lifted = end["lifted"] if end["lifted"] in LIFTED else LIFTED[0]
        found.append(WireEnd(pin, host, end["colour"], lifted, bool(case["joints"].get(end["at"], {}).get("hidden")),
                             _carries(row, end, bench)))
    return tuple(found)


def _carries(row: Mapping[str, Any], end: Mapping[str, Any], bench: Bench) -> str:
    """What a bench writes that an end carries: of a red lead the HT, of a loudspeaker's what it says."""
    if (row["id"], end["at"]) in bench.carries:
        return bench.carries[row["id"], end["at"]]
    if "speaker" in row["name"]:
        return "speaker"
    if "tank" in row["name"]:
        return "signal"
    return "HT" if end["colour"] == "red" else ""


ROLES = {"IN": "prep", "CL": "prep", "BODY": "fit", "B": "fit", "": "fit", "NUT": "snug", "N": "snug", "E": "snug",
         "TIGHT": "tight", "LK": "tight", "KNOB": "trim", "prep": "prep", "fit": "fit", "snug": "snug", "tight": "tight",
         "trim": "trim"}
ORDER = ("prep", "fit", "snug", "tight", "trim")


def told(order: RepairOrder, case: Case, bench: Bench) -> dict[str, Any]:
    """The plan of an order in the checker's form."""
    way = way_back(order)
    assert way.plan is not None
    counts = {name: count for count, name in cavities_of(case).items()}
    proofs = {**PROOFS, **{("IR", mark): "M2" for what, mark in way.origins.values() if what == "IR"},
              **{("LOOK", mark): "M12" for what, mark in way.origins.values()
                 if what == "LOOK" and way.removals[mark].kind in (Kind.TAG_BOARD, Kind.PRINTED_BOARD)}, **bench.proofs}
    does: dict[str, list[list[str]]] = {step: _event(origin, proofs, counts) for step, origin in way.origins.items()}
    for row in [*case["removals"], *case["new"]]:
        _place_acts(way, row, does)
    for name in {name for name in proofs.values() if list(proofs.values()).count(name) > 1}:  # of several things: at the last
        for step in [one.id for one in way.plan.steps if does[one.id] == [[name, "prove"]]][:-1]:
            does[step] = []
    return {"steps": [{"step": step.id, "does": does[step.id]} for step in way.plan.steps],
            "graph": {name: list(step.after) for name, step in way.steps.items()}, "conflicts": [str(one) for one in way.conflicts]}


def _event(origin: tuple[str, str], proofs: Mapping[tuple[str, str], str], counts: Mapping[str, str]) -> list[list[str]]:
    what, owner = origin
    if origin in proofs:
        return [[proofs[origin], "prove"]]
    if what == "count" and owner in counts:
        return [[counts[owner], "count"]]
    if what.startswith("in "):
        return [[f"{owner}>{what[3:]}", "in"]]
    return [[f"{owner}:{what[1:]}", "join"]] if what.startswith("J") else []


def _place_acts(way: ReassemblyState, row: Mapping[str, Any], does: dict[str, list[list[str]]]) -> None:
    """Each act of a thing at the step that does it; an act without a step of its own at the nearest before it, else the first.

    An end of a thing that goes in with its ends lies in when the thing does.
    """
    own = {role: step for step, (what, owner) in way.origins.items() if owner == row["id"] and (role := ROLES.get(what))}
    if not own:
        return
    removal = way.removals[row["id"]]
    together = {mark: step for step, (what, mark) in way.origins.items() if what in ("TG", "X", "ALIGN")}
    if removal.kind in FIXINGS and "tight" not in own:  # it is tightened with its fellows, for all that they hold
        own["tight"] = next(together[one.mark] for one in removal.holders if one.mark in together)
    at = next(own[role] for role in ORDER if role in own)
    for act in row["acts"]:
        at = own.get(act, at)
        does[at].append([row["id"], act])
    placed = {tuple(event) for events in does.values() for event in events}
    entry = own.get("fit", at)
    does[entry] += [[f"{row['id']}>{end['at']}", "in"] for end in row["ends"] if (f"{row['id']}>{end['at']}", "in") not in placed]
