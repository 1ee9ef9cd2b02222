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


class BadgeForm(House):
    """A badge, read by a scanner that types or by the camera, on an enrolled device."""

    badge = PasswordField("Badge", [Needed("Scan your badge."), Length(max=80)])
    then = HiddenField()
    held = HiddenField()


class PasskeyForm(House):
    """What a device that holds a passkey has signed; its script fills it in."""

    credential = HiddenField()
    then = HiddenField()
    held = HiddenField()


class NewPasskeyForm(House):
    """A name for the device, and the public half of the key that it made."""

    name = StringField("Name of the device", [Needed("Name the device that holds it, such as My phone."), Length(max=60)])
    credential = HiddenField()


class PersonForm(House):
    """Somebody new."""

    name = StringField("Name", [Needed("Enter a name."), Length(max=120)])
    role = SelectField("Role", coerce=Role, choices=ROLES)


class ChangePersonForm(House):
    """Role, and whether they may sign in."""

    role = SelectField("Role", coerce=Role, choices=ROLES)
    active = BooleanField("May sign in")


class SetPasswordForm(House):
    """The owner's one-time code, and the password that its holder chooses."""

    name = StringField("Name", [Needed("Enter your name as it is in the shop's list."), Length(max=120)])
    password_code = PasswordField("Code from the owner", [Needed("Enter the code the owner made for you."), Length(max=40)])
    new_password = PasswordField("New password", [Needed("Choose a password of at least 15 characters."), Length(max=200)])
    then = HiddenField()
    held = HiddenField()


class ProveForm(House):
    """One's own password once more, for what it must be fresh for."""

    own_password = PasswordField("Your password", [Needed("Enter your password."), Length(max=200)])
    then = HiddenField()


class OwnForm(House):
    """One's own PIN and password; the present password proves who asks."""

    now_password = PasswordField("Present password", [Needed("Enter your present password."), Length(max=200)])
    new_pin = PasswordField("New PIN", [Length(max=12)])
    new_password = PasswordField("New password", [Length(max=200)])


class EnrolForm(House):
    """The owner's one-time code and a name for this device."""

    code = StringField("Code from the owner", [Needed("Enter the code the owner made."), Length(max=20)])
    name = StringField("Name of this device", [Needed("Name it by its place, such as Bench 1."), Length(max=60)])
