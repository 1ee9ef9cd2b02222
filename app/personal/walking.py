"""Putting a word in a person's place in every record: those of their own repairs whole, all others where their words stand."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterable, Iterator
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapper

from app.db import Base, session
from app.orders.models import CostAuthority
from app.personal.rules.replacing import GONE, Replacer
from app.personal.scope import Rows, ids_of, parts
from app.records.models import Customer

# The journal and forms on their way are seen to apart; the shop, its people and devices are not customers; the rest is derived.
LEFT_ALONE = frozenset({"journal_entry", "held_post", "once_key", "guesses", "enrol_code", "sign_in", "device", "person", "shop",
                        "search_entry", "order_standing", "order_outlook", "erasure", "file_to_remove", "kept_paper"})
NOT_WORDS = ("sha256", "_hash", "currency", "media_type", "signature")
OF_OTHER_CUSTOMERS = frozenset({"note", "address"})  # what others are called is theirs
SIGNERS = ("signer_name", "name", "by_name")
NO_STROKE = "M0 0"  # a signature field in which nothing is drawn


def blank_signatures(customer: Customer, own: Rows, replacer: Replacer) -> set[str]:
    """Empty the signatures that are theirs, and what stands beside them; the rows, as "table key"."""
    done: set[str] = set()
    ids = ids_of(customer)
    for model in _models():
        columns = set(model.__table__.columns.keys())
        if "signature" not in columns or model.__tablename__ not in own:
            continue
        for row in _rows(model, own[model.__tablename__]):
            if getattr(row, "signer_id", None) in ids or any(
                    replacer.is_person(getattr(row, name)) for name in SIGNERS if name in columns):
                row.signature = NO_STROKE if row.signature else ""
                for beside in {"known_by", "reached_at"} & columns:
                    setattr(row, beside, GONE if getattr(row, beside) else "")
                done.add(f"{model.__tablename__} {row.id}")
    return done


def blank_approvals(customer: Customer, own: Rows) -> set[str]:
    """Where they were reached: for an approval, a call about hours of it, a contact, a message; the rows, as "table key"."""
    done: set[str] = set()
    for row in _reached(customer, own):
        row.reached_at = GONE
        done.add(f"{row.__tablename__} {row.id}")
    return done


def where_reached(customer: Customer, own: Rows) -> list[str]:
    """The numbers and addresses at which they were reached: what the blanking takes away."""
    return [row.reached_at for row in _reached(customer, own)]


def _reached(customer: Customer, own: Rows) -> Iterator[Any]:
    """Rows that say where this person, and not somebody else of the same repair, was reached."""
    ids = ids_of(customer)
    approvals = {row.id for row in _rows(CostAuthority, own.get(CostAuthority.__tablename__, set()))
                 if row.agreed_by_id in ids}
    for model in _models():
        if model.__tablename__ in own and "reached_at" in model.__table__.columns:
            for row in _rows(model, own[model.__tablename__]):
                if row.reached_at and _is_theirs(row, ids, approvals):
                    yield row


def _is_theirs(row: Any, ids: Collection[int], approvals: set[int]) -> bool:
    if isinstance(row, CostAuthority):
        return row.id in approvals
    above = getattr(row, "message", row)
    if hasattr(above, "customer_id"):
        return above.customer_id in ids
    return getattr(row, "authority_id", None) in approvals


def replace_everywhere(customer: Customer, own: Rows, replacer: Replacer) -> set[str]:
    """The person's words in every record; the rows that changed, as "table key"."""
    changed: set[str] = set()
    records = {f"{Customer.__tablename__} {one}" for one in ids_of(customer)}
    for model in _models():
        if model.__tablename__ in LEFT_ALONE:
            continue
        names = list(_worded(model))
        mine = own.get(model.__tablename__, set())
        seen: set[int] = set()
        for is_own, rows in ((True, _rows(model, mine)), (False, _others(model, names, replacer))):
            for row in rows:
                if row.id in seen or f"{model.__tablename__} {row.id}" in records:
                    continue
                seen.add(row.id)
                if _replaced(row, names, replacer, own=is_own):
                    changed.add(f"{model.__tablename__} {row.id}")
    return changed


def _replaced(row: Any, names: list[str], replacer: Replacer, *, own: bool) -> bool:
    fresh = {}
    for name in names:
        there = getattr(row, name)
        anew = replacer.value(there, own=own) if there else there
        if anew != there:
            fresh[name] = anew
    for name, anew in fresh.items():
        setattr(row, name, anew)
    if "text" in fresh and hasattr(row, "text_sha256"):
        row.text_sha256 = hashlib.sha256(fresh["text"].encode()).hexdigest()
    return bool(fresh)


def _models() -> Iterator[type[Any]]:
    """Every model with a key of its own, in the order of their tables' names."""
    mappers: Iterable[Mapper[Any]] = Base.registry.mappers
    models = [one.class_ for one in mappers if hasattr(one.class_, "__tablename__") and "id" in one.local_table.columns]
    yield from sorted(models, key=lambda model: model.__tablename__)


def _worded(model: type[Any]) -> Iterator[str]:
    """The names of its columns that hold words."""
    for column in model.__table__.columns:
        words = isinstance(column.type, sa.JSON | sa.Text) and not isinstance(column.type, sa.Enum)
        if not words or column.name.endswith(NOT_WORDS):
            continue
        if model is not Customer or column.name in OF_OTHER_CUSTOMERS:
            yield column.name


def _rows(model: type[Any], keys: Iterable[int]) -> list[Any]:
    found: list[Any] = []
    for some in parts(sorted(keys)):
        found += session().scalars(sa.select(model).where(model.id.in_(some)).order_by(model.id))
    return found


def _others(model: type[Any], names: list[str], replacer: Replacer) -> list[Any]:
    """Rows that hold one of the person's words as it is written."""
    if not names or not replacer.literal:
        return []
    said = [sa.cast(getattr(model, name), sa.Text) for name in names]
    wanted = [column.contains(one, autoescape=True) for column in said for one in sorted(replacer.literal)]
    wanted += [sa.func.lower(column).contains(one.lower(), autoescape=True) for column in said for one in sorted(replacer.literal)]
    return list(session().scalars(sa.select(model).where(sa.or_(*wanted)).order_by(model.id)))
