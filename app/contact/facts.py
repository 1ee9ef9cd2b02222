"""The facts that a template may name in braces, and what they are for one customer and one order."""

from __future__ import annotations

from app.contact.rules import PLACE, filled
from app.kernel import money
from app.orders.models import RepairOrder
from app.quote import queries as quotes
from app.records.models import Customer
from app.shop.queries import day, in_shop_words, the_shop

# Name in braces → what it is, as the page lists it.
KNOWN = {"name": "the customer’s name", "shop": "the shop’s name", "shop phone": "the shop’s phone",
         "number": "the repair’s number",
         "amp": "maker and model", "promised": "the promised day", "quote total": "the total of the quote, tax included",
         "quote valid until": "the last valid day of the quote"}


def facts_of(customer: Customer, order: RepairOrder | None) -> dict[str, str]:
    """Each fact that is known now; those that are not are left out."""
    shop = the_shop()
    found = {"name": customer.name, "shop": shop.name, "shop phone": shop.phone}
    if order is not None:
        quote = quotes.current(order)
        found |= {"number": str(order.number), "amp": order.amp.title,
                  "promised": day(order.promised_on) if order.promised_on else ""}
        if quote is not None:
            found |= {"quote total": money.show(quote.in_all_minor, quote.currency), "quote valid until": day(quote.valid_until)}
    return {name: value for name, value in found.items() if value}


def worded(text: str, customer: Customer, order: RepairOrder | None) -> str:
    """A template in the shop's words; the place of a fact that is not known stays as it is, to be filled in by hand."""
    facts = facts_of(customer, order)
    return in_shop_words(filled(text, {name: facts.get(name, f"{{{name}}}") for name in {*KNOWN, *PLACE.findall(text)}}))
