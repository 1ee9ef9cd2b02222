"""A code opens nothing once whoever made it, or whoever it is for, has left."""

from __future__ import annotations

import pytest
from flask import Flask

from app.access import service
from app.access.models import Person
from app.access.rules import Role
from app.db import session, transaction
from app.errors import BadInput
from tests.conftest import NOW
from tests.people import BY, Cast


@pytest.mark.parametrize(("role", "active"), [(Role.OWNER, False), (Role.COUNTER, True)])
def test_an_enrol_code_of_who_is_no_owner_any_more_enrols_nothing(context: Flask, cast: Cast, role: Role, active: bool) -> None:
    with transaction():
        second = service.add_person("Second Owner", Role.OWNER, None, by=BY, now=NOW)
        session().flush()
        code = service.make_enrol_code(second, by=BY, now=NOW)
        service.change_person(second, role=role, active=active, by=BY, now=NOW)
        session().flush()
        with pytest.raises(BadInput, match="wrong or has expired"):
            service.enrol(code, "Bench 9", agent="a tablet", now=NOW)


def test_a_password_code_of_who_left_is_no_use_after_they_came_back(context: Flask, cast: Cast) -> None:
    with transaction():
        ines = session().get_one(Person, cast.technician.id)
        code = service.make_password_code(ines, by=BY, now=NOW)
        service.change_person(ines, role=Role.TECHNICIAN, active=False, by=BY, now=NOW)
        service.change_person(ines, role=Role.TECHNICIAN, active=True, by=BY, now=NOW)
        session().flush()
        with pytest.raises(BadInput, match="wrong, used or older"):
            service.use_password_code(ines, code, "eleven brass teapots", agent="x", now=NOW)


def test_a_badge_of_who_left_opens_nothing(context: Flask, cast: Cast) -> None:
    with transaction():
        owner, ines = session().get_one(Person, cast.owner.id), session().get_one(Person, cast.technician.id)
        device, _ = service.enrol(service.make_enrol_code(owner, by=BY, now=NOW), "Bench 9", agent="a tablet", now=NOW)
        secret = service.make_badge(ines, by=BY, now=NOW)
        session().flush()
        assert service.whose_badge(secret, device) is ines
        service.change_person(ines, role=Role.TECHNICIAN, active=False, by=BY, now=NOW)
        session().flush()
        assert service.whose_badge(secret, device) is None
