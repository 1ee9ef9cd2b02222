"""What of the first set-up is done, told from what the shop's records hold. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Known:
    """What the records hold, as far as the list asks."""

    name: str = ""
    address: str = ""
    reached_by: str = ""  # phone or e-mail; empty if neither is on paper
    settings_saved: bool = False  # somebody saved them: before, they are what the program came with
    place: str = ""  # country and time zone, in words
    hands: int = 1  # at the bench at once, as the shop says
    bench_people: Sequence[str] = ()  # who may work there, by name
    with_pin: Sequence[str] = ()
    instruments_needed: Sequence[str] = ()  # each kind that is asked for, in words
    instruments_missing: Sequence[str] = ()  # of these: none of the kind is in service and in date
    profile: str = ""  # the safety profile in force; empty while there is none
    profile_confirmed: bool = False
    profile_to_look_at: bool = False  # it was replaced or changed since
    terms: str = ""  # which set, and whose
    terms_unread: int = 0  # paragraphs that nobody has read in their source
    rates: str = ""  # the hourly rate and the diagnosis fee, as they are charged
    hourly_rate_minor: int = 0
    devices: Sequence[str] = ()  # enrolled and not revoked, by name
    backup_good: bool = False
    backup: str = ""  # what is known of the last backup, in words


@dataclass(frozen=True)
class Item:
    """One entry: what it is, whether it is done, what the records say of it, and the page where it is done."""

    title: str
    done: bool
    says: str
    endpoint: str = ""  # empty: it is done by a command
    act: str = ""


@dataclass(frozen=True)
class Setup:
    """The list."""

    items: tuple[Item, ...] = field(default_factory=tuple)

    @property
    def done(self) -> int:
        return sum(item.done for item in self.items)

    @property
    def next(self) -> Item | None:
        """The first that is not done."""
        return next((item for item in self.items if not item.done), None)


def first_setup(known: Known) -> Setup:
    """Each entry in the order in which a shop can do them."""
    return Setup((_shop(known), _people(known), _instruments(known), _limits(known), _terms(known), _prices(known), _tablet(known),
                  _backup(known)))


def _shop(known: Known) -> Item:
    missing = [what for what, there in (("the address", known.address), ("a phone number or an e-mail address", known.reached_by))
               if not there]
    if missing:
        says = f"Papers show “{known.name}” without {' and '.join(missing)}."
    elif not known.settings_saved:
        says = "Time zone, supply and opening hours are still those that the program came with: nobody has saved the settings."
    else:
        says = f"{known.name}, {known.reached_by}. {known.place}."
    return Item("Shop", known.settings_saved and not missing, says, "shop.settings", "Open the settings")


def _people(known: Known) -> Item:
    there = len(known.bench_people)
    done = there >= known.hands
    says = f"At the bench: {', '.join(known.bench_people) or 'nobody'}."
    if not done:
        says += f" The settings count on {known.hands} at once."
    return Item("People", done, says, "staff.page", "Add people")


def _instruments(known: Known) -> Item:
    if known.instruments_missing:
        says = f"None in service and in date: {', '.join(known.instruments_missing)}."
    else:
        says = f"In service and in date: {', '.join(known.instruments_needed)}."
    return Item("Instruments", bool(known.instruments_needed) and not known.instruments_missing, says, "instruments.page",
                "Add an instrument")


def _limits(known: Known) -> Item:
    if not known.profile:
        says = "No safety profile is in force: no safety test can be started."
    elif not known.profile_confirmed:
        says = f"{known.profile} is in force, its edition is not confirmed."
    elif known.profile_to_look_at:
        says = f"{known.profile} is in force; it was replaced or changed since it was confirmed."
    else:
        says = f"{known.profile} is in force and confirmed."
    return Item("Limits", known.profile_confirmed and not known.profile_to_look_at and bool(known.profile), says, "profiles.page",
                "Choose the limits")


def _terms(known: Known) -> Item:
    if not known.settings_saved:
        says = f"Printed would be: {known.terms}. Nobody has chosen the jurisdiction yet."
    elif known.terms_unread:
        says = (f"{known.terms}: {known.terms_unread} of its paragraphs were not read in their source. Look them up, and enter "
                f"the shop’s own edition.")
    else:
        says = f"{known.terms}."
    endpoint, act = (("intake.shop_terms", "Read the terms") if known.settings_saved
                     else ("shop.settings", "Choose the jurisdiction"))
    return Item("Terms", known.settings_saved and not known.terms_unread, says, endpoint, act)


def _prices(known: Known) -> Item:
    if known.hourly_rate_minor <= 0:
        says = "An hour costs nothing: enter the hourly rate."
    elif not known.settings_saved:
        says = f"{known.rates}: the program’s own figures, which nobody has saved."
    else:
        says = f"{known.rates}."
    return Item("Prices", known.settings_saved and known.hourly_rate_minor > 0, says, "shop.settings", "Enter the prices")


def _tablet(known: Known) -> Item:
    if not known.devices:
        says = "No device is enrolled: nobody can sign in by PIN at the bench."
    elif not known.with_pin:
        says = f"Enrolled: {', '.join(known.devices)}. Nobody has a PIN yet."
    else:
        says = f"Enrolled: {', '.join(known.devices)}. With a PIN: {', '.join(known.with_pin)}."
    return Item("Tablet", bool(known.devices) and bool(known.with_pin), says, "staff.page", "Enrol a device")


def _backup(known: Known) -> Item:
    return Item("Backup", known.backup_good, known.backup)
