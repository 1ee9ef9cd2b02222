"""Usual findings: what ships with the program, with the shop's own words in place of ours where it has said so."""

from __future__ import annotations

import functools
import tomllib
from dataclasses import fields
from datetime import date
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from app.db import session
from app.findings.models.catalogue import UsualFinding
from app.findings.rules.alternatives import groups
from app.findings.rules.life import Area, Confidence, Disposition, Origin
from app.findings.rules.risk import Risk, risk_of
from app.findings.rules.signs import stored
from app.findings.spec import Decided, FindingFacts, UsualFacts
from app.kernel.spec import spec_of
from app.kernel.spec_forms import shown

SHIPPED = Path(__file__).with_name("usual_findings.toml")
SOURCE = "The shipped list's own judgement of severity and probability; every shop may change it"
SOURCE_MARK = "common practice"
LOOKED_ON = date(2026, 11, 26)  # the day the list was last gone through


class Usual(UsualFacts):
    """One usual finding, and the finding that begins with it."""

    @property
    def risk(self) -> Risk | None:
        return risk_of(self.severity, self.probability)

    def filled(self) -> dict[str, Any]:
        """The fields of a finding that begins with it; its observation only where nothing in it is left to choose."""
        carried = {*spec_of(FindingFacts), *spec_of(Decided)}
        sure = {"confidence": Confidence.POSSIBLE} if self.cause else {}  # until whoever has the amp open confirms it
        return {**{name: value for name, value in shown(self, UsualFacts).items() if name in carried}, **sure,
                **({"observation": ""} if groups(self.observation) else {})}


@functools.cache
def shipped() -> tuple[Usual, ...]:
    """The catalogue as it ships."""
    with SHIPPED.open("rb") as file:
        return tuple(_read(one) for one in tomllib.load(file)["finding"])


def catalogue(*, retired: bool = False) -> list[Usual]:
    """The shop's catalogue in the order of ours, its own entries last; retired ones only if asked for."""
    own = {row.code: _own(row) for row in session().scalars(sa.select(UsualFinding).order_by(UsualFinding.code))}
    ours = [own.pop(one.code, one) for one in shipped()]
    return [one for one in (*ours, *own.values()) if retired or not one.retired]


def find(code: str) -> Usual | None:
    """The entry of this code, retired or not."""
    return next((one for one in catalogue(retired=True) if one.code == code), None)


def row_of(code: str) -> UsualFinding | None:
    """The shop's own row for this code, if it has one."""
    return session().scalar(sa.select(UsualFinding).where(UsualFinding.code == code))


def _own(row: UsualFinding) -> Usual:
    return Usual(**{field.name: getattr(row, field.name) for field in fields(Usual)})


def _read(one: dict[str, Any]) -> Usual:
    return Usual(code=one["code"], area=Area(one["area"]), short=one["short"], observation=one["observation"],
                 cause=one["cause"], origin=Origin(one["origin"]), hazard=one["hazard"], severity=one["hurt"],
                 probability=one["chance"] or None, equipment_severity=one["amp"], function_severity=one["sound"],
                 disposition=Disposition(one["disposition"]), disposition_words=one["how"], check_words=one["check"],
                 signs=stored(one.get("signs", ())))
