"""Passkeys (W3C Web Authentication, Level 2): a key pair on a person's own device, which unlocks it by finger, face or its own PIN.

A passkey signs in as a PIN does: it proves no password, so that what asks for the password asks still. What is signed is
weighed by the `webauthn` library, outside the write lock; whether the key counts yet is decided inside it.
"""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa

from app.access.challenges import Challenge, For, give
from app.access.models import Passkey, Person
from app.access.service import end_all
from app.access.site import Site
from app.db import session
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record

TOO_OLD = "The two minutes for this passkey are over, or it was used already. Use the button once more."
OPENS_NOTHING = ("That passkey opens nothing here: it was ended, it belongs to another shop, or the device did not ask for finger, "
                 "face or its PIN. Sign in in another way.")
WENT_BACK = ("That passkey was not accepted: its count of uses went backwards, as that of a copied key does. Sign in in another "
             "way, end this passkey under your name, and tell the owner.")
NOT_MADE = "The passkey could not be confirmed, so none was added. Choose Add a passkey once more."
MOST_LETTERS = 16_384  # of what a browser sends; a few thousand are usual


@dataclass(frozen=True)
class Signed:
    """What held when the answer of a device was weighed."""

    passkey_id: int
    counter: int


def of(person: Person) -> Sequence[Passkey]:
    """This person's passkeys that open, by age."""
    return session().scalars(sa.select(Passkey).where(Passkey.person_id == person.id, Passkey.ended_at.is_(None))
                             .order_by(Passkey.added_at, Passkey.id)).all()


def any_open() -> bool:
    """Whether anybody may sign in by one."""
    return session().scalar(sa.select(Passkey.id).join(Passkey.person).where(Passkey.ended_at.is_(None), Person.active.is_(True))
                            .limit(1)) is not None


def offered(site: Site) -> str | None:
    """For the pages that sign in: None if nobody has one, else why the browser uses none here; empty if it may."""
    return (site.trouble() or "") if any_open() else None


def options_to_add(person: Person, site: Site, *, page: str, now: datetime) -> str:
    """What the browser is asked to make, as JSON. The device must ask for finger, face or its PIN each time."""
    from webauthn import generate_registration_options, options_to_json
    from webauthn.helpers import base64url_to_bytes
    from webauthn.helpers.structs import (
        AuthenticatorSelectionCriteria,
        PublicKeyCredentialDescriptor,
        ResidentKeyRequirement,
        UserVerificationRequirement,
    )

    handle = session().scalar(sa.select(Passkey.user_handle).where(Passkey.person_id == person.id).limit(1))
    asked = give(For.ADDING, page, now, handle or secrets.token_urlsafe(32))
    return options_to_json(generate_registration_options(
        rp_id=site.host, rp_name=f"Tagstrip at {site.host}", user_name=person.name,
        user_id=base64url_to_bytes(asked.handle), challenge=asked.bits,
        authenticator_selection=AuthenticatorSelectionCriteria(resident_key=ResidentKeyRequirement.REQUIRED,
                                                               user_verification=UserVerificationRequirement.REQUIRED),
        exclude_credentials=[PublicKeyCredentialDescriptor(id=base64url_to_bytes(one.credential_id)) for one in of(person)]))


def options_to_sign_in(site: Site, *, page: str, now: datetime) -> str:
    """What the browser is asked to sign, as JSON. It names no key: which there are is told to nobody."""
    from webauthn import generate_authentication_options, options_to_json
    from webauthn.helpers.structs import UserVerificationRequirement

    return options_to_json(generate_authentication_options(rp_id=site.host, challenge=give(For.SIGNING_IN, page, now).bits,
                                                           user_verification=UserVerificationRequirement.REQUIRED))


def add_passkey(person: Person, name: str, credential: str, asked: Challenge | None, site: Site, *, by: Actor,
                now: datetime) -> Passkey:
    """Keep the public half of a key that this person's device made. BadInput if it does not answer what was asked."""
    from webauthn import verify_registration_response
    from webauthn.helpers import bytes_to_base64url
    from webauthn.helpers.exceptions import WebAuthnException

    name = " ".join(name.split())
    if not name:
        raise BadInput("Name the device that holds it, such as My phone.", "name")
    if not credential:
        raise BadInput(NOT_MADE)
    if asked is None:
        raise BadInput(TOO_OLD)
    try:
        made = verify_registration_response(credential=credential[:MOST_LETTERS], expected_challenge=asked.bits,
                                            expected_rp_id=site.host, expected_origin=site.origin, require_user_verification=True)
    except (WebAuthnException, ValueError, KeyError, TypeError) as wrong:
        raise BadInput(NOT_MADE) from wrong
    its_id = bytes_to_base64url(made.credential_id)
    if session().scalar(sa.select(Passkey.id).where(Passkey.credential_id == its_id)):
        raise BadInput("This passkey is in the list already, or was and is ended. Make another on the device.")
    added = Passkey(person_id=person.id, name=name, credential_id=its_id, public_key=bytes_to_base64url(made.credential_public_key),
                    user_handle=asked.handle, counter=made.sign_count, added_at=now)
    session().add(added)
    record(Event.PASSKEY_ADDED, person, by=by, now=now, after={"device": name})
    return added


def weigh(credential: str, asked: Challenge | None, site: Site) -> Signed | str:
    """Whether a key of this shop signed what was asked, or what to say. Which way it failed is not told, save that it was late."""
    from webauthn import verify_authentication_response
    from webauthn.helpers import base64url_to_bytes, bytes_to_base64url, parse_authentication_credential_json
    from webauthn.helpers.exceptions import WebAuthnException

    if asked is None:
        return TOO_OLD
    try:
        given = parse_authentication_credential_json(credential[:MOST_LETTERS])
        found = session().scalar(sa.select(Passkey).where(Passkey.credential_id == bytes_to_base64url(given.raw_id)))
        if found is None or not opens(found):
            return OPENS_NOTHING
        # The device says whose key it holds (Level 2, 7.2 step 6): it must be the one the key is kept for.
        if given.response.user_handle is None or bytes_to_base64url(given.response.user_handle) != found.user_handle:
            return OPENS_NOTHING
        signed = verify_authentication_response(
            credential=given, expected_challenge=asked.bits, expected_rp_id=site.host, expected_origin=site.origin,
            credential_public_key=base64url_to_bytes(found.public_key), credential_current_sign_count=0,  # counted in `use_passkey`
            require_user_verification=True)
    except (WebAuthnException, ValueError, KeyError, TypeError):
        return OPENS_NOTHING
    return Signed(found.id, signed.new_sign_count)


def use_passkey(signed: Signed, *, place: str, now: datetime) -> Person | str:
    """Count the use; whom it opens for, or what to say. Inside a transaction: two that come at once are weighed one by one."""
    found = session().get_one(Passkey, signed.passkey_id, populate_existing=True)
    by = Actor(None, found.person.name, place)
    if not opens(found):
        return OPENS_NOTHING
    if (found.counter or signed.counter) and signed.counter <= found.counter:  # Level 2, 7.2 step 21
        record(Event.SIGN_IN_REFUSED, found.person, by=by, now=now,
               reason=f"the count of passkey {found.name} went from {found.counter} to {signed.counter}")
        return WENT_BACK
    found.counter, found.used_at = signed.counter, now
    record(Event.PASSKEY_USED, found.person, by=by, now=now, after={"device": found.name})
    return found.person


def opens(found: Passkey) -> bool:
    """Whether this one signs anybody in."""
    return found.ended_at is None and found.person.active


def end_passkey(found: Passkey, *, by: Actor, now: datetime) -> None:
    """Lost, or not wanted any more: it opens nothing, and that person's sign-ins end, as any may have been opened by it."""
    if found.ended_at is not None:
        raise RuleBroken(f"The passkey {found.name} is ended already.")
    found.ended_at = now
    record(Event.PASSKEY_ENDED, found.person, by=by, now=now, before={"device": found.name})
    end_all(found.person, now=now)
