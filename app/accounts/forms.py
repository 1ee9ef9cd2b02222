"""What is typed to sign in and to open the shop."""

from __future__ import annotations

from wtforms import HiddenField, PasswordField, StringField
from wtforms.validators import Length

from app.web.house import House, Needed


class SignInForm(House):
    """Name and password."""

    name = StringField("Name", [Needed("Enter your name as it stands in the shop's list."), Length(max=120)])
    password = PasswordField("Password", [Needed("Enter your password."), Length(max=128)])
    then = HiddenField()
    held = HiddenField()


class FirstStartForm(House):
    """The owner and the shop's name, once."""

    code = StringField("Code from the console", [Needed("Enter the code that was printed where Tagstrip was started.")])
    shop_name = StringField("Name of the shop", [Needed("Enter the shop's name as it stands on paper."), Length(max=120)])
    name = StringField("Your name", [Needed("Enter your name."), Length(max=120)])
    password = PasswordField("Password", [Needed("Enter a password."), Length(max=128)])
