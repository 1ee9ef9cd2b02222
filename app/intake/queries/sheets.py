"""What the counter wrote down about an order, sheet by sheet."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import sqlalchemy as sa

from app.db import session
from app.intake.models import Acceptance, Accessory, AccessoryCount, Agreement, Complaint, ConditionNote, FirstLook
from app.intake.rules import Facts, Zone
from app.orders.models import CostAuthority, Quarantine, RepairOrder
from app.orders.stages import Stage
from app.orders.warranty import Pays, who_pays
from app.photos.models import Phase, Photo
from app.records.models import Customer
from app.records.rules import ProtectionClass
from app.request_cache import cached_until_write
from app.shop.queries import the_shop

VIEWS = tuple(zone.value for zone in Zone if zone is not Zone.SERIAL)


@cached_until_write
def complaint(order_id: int) -> Complaint | None:
    """The complaint sheet."""
    return session().scalar(sa.select(Complaint).where(Complaint.order_id == order_id))


def complaint_words(order_ids: Iterable[int]) -> dict[int, str]:
    """The customer's own words for each of these orders."""
    found = session().scalars(sa.select(Complaint).where(Complaint.order_id.in_(list(order_ids))))
    return {one.order_id: one.words for one in found}


def condition_notes(order_id: int, *, struck: bool = False) -> Sequence[ConditionNote]:
    """Notes on the condition, oldest first; `struck` asks for those that were struck."""
    wanted = ConditionNote.struck_at.is_not(None) if struck else ConditionNote.struck_at.is_(None)
    return session().scalars(sa.select(ConditionNote).where(ConditionNote.order_id == order_id, wanted)
                             .order_by(ConditionNote.id)).all()


def find_note(note_id: int) -> ConditionNote | None:
    """One note on the condition."""
    return session().get(ConditionNote, note_id)


def condition_photos(order_id: int) -> Sequence[Photo]:
    """Photos of the amp as it was found, those that are not struck."""
    return session().scalars(sa.select(Photo).where(*_as_found(order_id)).order_by(Photo.position, Photo.id)).all()


def accessories(order_id: int) -> Sequence[Accessory]:
    """What came with the amp and how many of each; only what there is at least one of."""
    return session().scalars(sa.select(Accessory).where(Accessory.order_id == order_id, Accessory.quantity > 0)
                             .order_by(Accessory.id)).all()


def counted(order_id: int) -> AccessoryCount | None:
    """Who counted the accessories, and when; None while nobody has."""
    return session().scalar(sa.select(AccessoryCount).where(AccessoryCount.order_id == order_id))


def first_look(order_id: int) -> FirstLook | None:
    """The look for obvious danger."""
    return session().scalar(sa.select(FirstLook).where(FirstLook.order_id == order_id))


def quarantines(order_id: int) -> Sequence[Quarantine]:
    """Every quarantine of an order, oldest first, lifted ones too."""
    return session().scalars(sa.select(Quarantine).where(Quarantine.order_id == order_id).order_by(Quarantine.id)).all()


@cached_until_write
def agreement(order_id: int) -> Agreement | None:
    """Fee, ceiling and declared value."""
    return session().scalar(sa.select(Agreement).where(Agreement.order_id == order_id))


def acceptances(order_id: int) -> Sequence[Acceptance]:
    """Every signature under the terms, oldest first."""
    return session().scalars(sa.select(Acceptance).where(Acceptance.order_id == order_id).order_by(Acceptance.id)).all()


@cached_until_write
def acceptance(order_id: int) -> Acceptance | None:
    """The signature that counts: the newest."""
    return session().scalar(sa.select(Acceptance).where(Acceptance.order_id == order_id)
                            .order_by(Acceptance.id.desc()).limit(1))


def photos_of(order_id: int, places: Sequence[str]) -> Sequence[Photo]:
    """Photos as found of these places, such as accessories."""
    return session().scalars(sa.select(Photo).where(*_as_found(order_id), Photo.place.in_(places))
                             .order_by(Photo.position, Photo.id)).all()


def zones_shown(order_id: int) -> dict[Zone, int]:
    """Each zone that was photographed as found, with how many photos there are of it."""
    counts = session().execute(sa.select(Photo.place, sa.func.count()).where(*_as_found(order_id)).group_by(Photo.place))
    return {Zone(place): number for place, number in counts if place in set(Zone)}


def people_of(order: RepairOrder) -> list[Customer]:
    """The one to three people of an order, each once."""
    return list(dict.fromkeys([order.depositor, order.owner, order.authority]))


_PERSON = sa.func.coalesce(Customer.merged_into_id, Customer.id)  # two records that were merged are one person


def facts(order: RepairOrder) -> Facts:
    """What the gate asks, in one statement beside the order's own records."""
    signed = (sa.select(Acceptance.fee_minor).where(Acceptance.order_id == order.id)
              .order_by(Acceptance.id.desc()).limit(1))
    signer = (sa.select(_PERSON).join_from(Acceptance, Customer, Customer.id == Acceptance.signer_id)
              .where(Acceptance.order_id == order.id).order_by(Acceptance.id.desc()).limit(1))
    row = session().execute(sa.select(
        sa.select(Complaint.words).where(Complaint.order_id == order.id).scalar_subquery(),
        sa.select(sa.func.count(Photo.place.distinct())).where(*_as_found(order.id), Photo.place.in_(VIEWS)).scalar_subquery(),
        sa.exists().where(*_as_found(order.id), Photo.place == Zone.SERIAL.value),
        sa.exists().where(AccessoryCount.order_id == order.id),
        sa.exists().where(FirstLook.order_id == order.id),
        signed.scalar_subquery(),
        sa.select(Agreement.fee_minor).where(Agreement.order_id == order.id).scalar_subquery(),
        sa.exists().where(CostAuthority.order_id == order.id, CostAuthority.withdrawn_at.is_(None),
                          Customer.id == CostAuthority.agreed_by_id, _PERSON.in_((order.authority_id,))),
        signer.scalar_subquery(),
        sa.exists().where(Agreement.order_id == order.id, Agreement.fee_minor == 0, Agreement.ceiling_minor == 0),
    )).one()
    words, views, serial_shown, is_counted, looked, signed_fee, fee, agreed, signed_by, costs_nothing = row
    amp = order.amp
    return Facts(reachable=bool(order.depositor.reach), maker=amp.maker, model=amp.model, serial=amp.serial,
                 mains_marking=amp.mains_marking, class_known=amp.protection_class is not ProtectionClass.UNKNOWN,
                 complaint=words or "", views=views, serial_shown=serial_shown, counted=is_counted, looked=looked,
                 signed=signed_fee is not None, signed_fee_minor=signed_fee or 0, fee_minor=fee or 0,
                 agreed=agreed or (costs_nothing and who_pays(order) is not Pays.CUSTOMER),
                 signer_named=signed_by in (order.depositor_id, order.owner_id, order.authority_id),
                 least_views=the_shop().least_views, at_counter=order.stage is Stage.INTAKE)


def _as_found(order_id: int) -> tuple[sa.ColumnElement[bool], ...]:
    return Photo.order_id == order_id, Photo.phase == Phase.AS_FOUND, Photo.struck_at.is_(None)
