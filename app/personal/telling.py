"""What the paper about an erasure says: counted when it is done, and kept with it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable
from datetime import datetime, timedelta
from typing import Any

from app.kernel.local_forms import counted
from app.kernel.upload_holding import KEPT_FOR
from app.personal.papers import Fate
from app.shop.queries import day, the_shop

FORMS_KNOWN_FOR = timedelta(days=30)
# Table → what a reader calls its records.
CALLED = {"customer": "name, phone, e-mail, address and note in the customer’s record", "authority": "approvals of cost",
          "terms_acceptance": "acceptances of the terms, signature included", "return_signature": "signatures at the return",
          "unrepaired_acknowledgement": "acknowledgements of an unrepaired return", "quote_authorisation": "answers to a quote",
          "declined_work": "declined work, signature included", "hours_call": "calls about hours",
          "contact_entry": "entries of the contact log",
          "mail_message": "e-mails, texts included", "mail_recipient": "addresses that e-mails went to",
          "collection_notice": "notices to collect", "complaint": "what was said at the counter", "incident": "incidents",
          "incident_entry": "entries about incidents", "issued_document": "rows of issued papers"}


def of(changed: Collection[str], entries: int, unsalted: int, fates: Iterable[Fate], forms: int, now: datetime, *,
       in_texts: bool = True) -> dict[str, Any]:
    """The paper's facts, as `Erasure.told` holds them. `in_texts`: every name of theirs was looked for inside texts."""
    by_table = Counter(one.rsplit(" ", 1)[0] for one in changed)
    erased = [[CALLED.get(table, f"texts in records of the kind “{table.replace('_', ' ')}”"), number]
              for table, number in sorted(by_table.items()) if table != "issued_document"]
    if entries:
        erased.append(["entries of the journal, in which your words were replaced", entries])
    if forms:
        erased.append(["forms that were waiting to be sent again", forms])
    every = list(fates)
    if gone := sum(fate.until is None for fate in every):
        erased.append(["papers that named you", gone])
    kept: list[list[str]] = [
        ["The amp as it is marked, its findings, readings, parts and safety tests",
         "whoever works on this amp next, or is hurt by it, depends on them; they no longer name you",
         "as long as the shop keeps them"],
        ["Sums that were quoted, billed and paid", "the shop’s books; they no longer name you", "as long as the shop keeps them"],
        ["Photos of the amp", "they show the amp; if one shows you, ask the shop to remove it", "as long as the shop keeps them"]]
    kept += [[f"{fate.document.title}, with your name", fate.why, day(fate.until)] for fate in every if fate.until is not None]
    return {"erased": erased, "kept": kept, "beyond": list(_beyond(unsalted, now, in_texts=in_texts))}


def _beyond(unsalted: int, now: datetime, *, in_texts: bool) -> Iterable[str]:
    today = now.astimezone(the_shop().zone)
    yield (f"Backups and exports that were made before {day(today)} still hold your record. The shop does not restore from them "
           "without erasing you again, and they go as they are replaced.")
    yield "Papers and messages that were handed out or sent earlier are not in the shop’s hands."
    yield ("What was typed and not saved on a device of the shop stays there until its sign-in ends. Fingerprints of forms that "
           f"were sent go by {day(today + FORMS_KNOWN_FOR)}, files of forms that were not saved by {day(today + KEPT_FOR)}.")
    yield ("Texts that name you in another way than your record did, and that the owner did not point out, could not be found by "
           "the program.")
    if not in_texts:
        yield ("Your record has a name of a single word. Where that word stands inside a longer text it was left, as the program "
               "cannot tell it from the same word in another sense.")
    if unsalted:
        yield (f"{counted(unsalted, 'entry', 'entries')} of the journal were written before the journal’s hashes had a salt: the "
               "hash of each stays as long as the journal. Your words are not in it, but who guesses them could check the guess.")
