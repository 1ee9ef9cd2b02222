"""What is typed to sign in, to open the shop and to look after people and devices."""

from __future__ import annotations

from wtforms import BooleanField, HiddenField, PasswordField, RadioField, SelectField, StringField
from wtforms.validators import Length

from app.access.rules import Role
from app.kernel.form_fields import House, Needed, options

ROLES = options((role.value, role.value) for role in Role)


class SignInForm(House):
    """Name and password."""

    name = StringField("Name", [Needed("Enter your name as it is in the shop's list."), Length(max=120)])
    password = PasswordField("Password", [Needed("Enter your password."), Length(max=128)])
    then = HiddenField()
    held = HiddenField()


class PinForm(House):
    """Somebody on an enrolled device, by PIN."""

    who = RadioField("Who is at the bench", [Needed("Choose your name.")], coerce=int)
    pin = PasswordField("PIN", [Needed("Enter your six digits."), Length(max=12)])
    then = HiddenField()
    held = HiddenField()


class PersonForm(House):
    """Somebody new."""

    name = StringField("Name", [Needed("Enter a name."), Length(max=120)])
    role = SelectField("Role", coerce=Role, choices=ROLES)
    password = PasswordField("First password", [Needed("Choose a password of at least 15 characters."), Length(max=200)])


class ChangePersonForm(House):
    """Role, whether they may sign in, and a new password if one is needed."""

    role = SelectField("Role", coerce=Role, choices=ROLES)
    active = BooleanField("May sign in")
    password = PasswordField("New password, if they lost theirs", [Length(max=200)])


class OwnForm(House):
    """One's own PIN and password; the present password proves who asks."""

    now_password = PasswordField("Present password", [Needed("Enter your present password."), Length(max=200)])
    new_pin = PasswordField("New PIN", [Length(max=12)])
    new_password = PasswordField("New password", [Length(max=200)])


class EnrolForm(House):
    """The owner's one-time code and a name for this device."""

    code = StringField("Code from the owner", [Needed("Enter the code the owner made."), Length(max=20)])
    name = StringField("Name of this device", [Needed("Name it by its place, such as Bench 1."), Length(max=60)])
