"""Sums of the money room: what may be billed, taken, given back; worked by hand."""

from __future__ import annotations

import random
from datetime import date, datetime, timedelta
from fractions import Fraction

import pytest

from app.errors import BadInput
from app.kernel.taxes import Tax, TaxRule, one_tax, rounded_for_cash
from app.money.rules import (
    AGE_WORDS,
    Balance,
    Entered,
    EntryKind,
    Method,
    Row,
    age_of,
    balance,
    check_bill,
    check_credit,
    check_entry,
    check_moment,
    make_out,
)
from tests.factories import NOW

GST = one_tax("GST", 1000)


def test_a_bill_comes_to_just_what_is_due() -> None:
    """142.50 of work and 42.00 of parts, 10 % on top: 202.95; 85.00 of diagnosis hold 7.73 of tax (85 / 11). By hand."""
    made = make_out(GST, [Row("Capacitors", 18_450, 90)], [Row("Diagnosis", 8500)], 28_795, "")
    assert made.sums.total_minor == 28_795 and made.sums.tax_minor == 1845 + 773
    assert [(row.what, row.minor) for row in made.rows] == [("Capacitors", 18_450), ("Diagnosis", 7727)]
    assert sum(row.minor for row in made.rows) == made.sums.net_minor


def test_a_difference_has_its_reason_and_its_row() -> None:
    with pytest.raises(BadInput, match="what makes the difference"):
        make_out(GST, [Row("Capacitors", 10_000)], [], 10_000, " ")
    made = make_out(GST, [Row("Capacitors", 10_000)], [], 9900, "reduced, as it took long")
    assert made.rows[-1].what == "reduced, as it took long" and made.rows[-1].minor == -1000  # 11.00 with its tax
    assert (made.sums.net_minor, made.sums.tax_minor, made.sums.total_minor) == (9000, 900, 9900)


@pytest.mark.parametrize(("total", "billed", "agreed", "fits"), [
    (10_000, 0, 10_000, True), (10_001, 0, 10_000, False), (6000, 5000, 10_000, False), (5000, 5000, 10_000, True),
    (1, 0, None, False), (0, 0, 10_000, False), (-5, 0, 10_000, False)])
def test_no_bill_is_above_what_was_agreed(total: int, billed: int, agreed: int | None, fits: bool) -> None:
    if fits:
        check_bill(total, billed, agreed)
    else:
        with pytest.raises(BadInput):
            check_bill(total, billed, agreed)


def test_a_credit_note_takes_back_no_more_than_is_left_and_says_why() -> None:
    check_credit(500, 500, "a valve was counted twice")
    for sum_, left, why in ((501, 500, "x"), (0, 500, "x"), (500, 500, " ")):
        with pytest.raises(BadInput):
            check_credit(sum_, left, why)


def test_what_is_owed_counts_everything_once() -> None:
    """Billed 300.00, credited 50.00; deposit 100.00, paid 80.00, 20.00 of it given back, 10.00 written off: 80.00 is owed."""
    stands = balance([30_000], [5000], [Entered(EntryKind.DEPOSIT, 10_000), Entered(EntryKind.PAYMENT, 8000),
                                        Entered(EntryKind.REFUND, 2000), Entered(EntryKind.WRITE_OFF, 1000)])
    assert (stands.charged_minor, stands.received_minor, stands.owed_minor, stands.held_minor) == (25_000, 16_000, 8000, 0)
    assert balance([], [], [Entered(EntryKind.DEPOSIT, 10_000)]).held_minor == 10_000
    assert balance([], [], [Entered(EntryKind.CARRIED, 3000)]).owed_minor == 3000


@pytest.mark.parametrize(("kind", "minor", "method", "note", "words"), [
    (EntryKind.PAYMENT, 5001, Method.CARD, "", "more than is owed"),
    (EntryKind.PAYMENT, 0, Method.CARD, "", "above 0"),
    (EntryKind.PAYMENT, 500, Method.NOTHING, "", "how it was paid"),
    (EntryKind.WRITE_OFF, 5001, Method.NOTHING, "moved away", "more than is owed"),
    (EntryKind.WRITE_OFF, 5000, Method.NOTHING, "", "Enter why"),
    (EntryKind.REFUND, 1, Method.CARD, "credited", "credit note first"),
    (EntryKind.DEPOSIT, 40_001, Method.CARD, "", "more than was agreed"),
])
def test_what_cannot_be_paid_is_refused(kind: EntryKind, minor: int, method: Method, note: str, words: str) -> None:
    stands = Balance(15_000, 10_000)
    with pytest.raises(BadInput, match=words):
        check_entry(kind, minor, method, note, stands, agreed_minor=50_000, cash_step=1)


def test_cash_is_rounded_to_coins_and_the_debt_is_closed() -> None:
    """Only what is paid in cash is rounded, and the tax stays that of the bill (Revenu Québec, Phasing out of the penny, read at
    revenuquebec.ca); to the nearest 5 cents, 1 and 2 down, 3 and 4 up (from memory)."""
    assert [rounded_for_cash(18_510 + one, 5) - 18_510 for one in range(6)] == [0, 0, 0, 5, 5, 5]
    owes = Balance(18_513, 0)
    assert check_entry(EntryKind.PAYMENT, 18_515, Method.CASH, "", owes, agreed_minor=0, cash_step=5) == 2
    assert Entered(EntryKind.PAYMENT, 18_515, 2).counts_minor == 18_513
    assert check_entry(EntryKind.PAYMENT, 18_513, Method.CARD, "", owes, agreed_minor=0, cash_step=5) == 0
    with pytest.raises(BadInput, match="in coins"):
        check_entry(EntryKind.PAYMENT, 18_513, Method.CASH, "", owes, agreed_minor=0, cash_step=5)
    with pytest.raises(BadInput, match="more than is owed"):
        check_entry(EntryKind.PAYMENT, 18_520, Method.CASH, "", owes, agreed_minor=0, cash_step=5)


def test_nobody_pays_tomorrow() -> None:
    check_moment(NOW + timedelta(minutes=4), NOW)
    with pytest.raises(BadInput, match="in the future"):
        check_moment(datetime(2026, 3, 3, tzinfo=NOW.tzinfo), NOW)


@pytest.mark.parametrize(("days", "words"), [(-5, 0), (0, 0), (1, 1), (30, 1), (31, 2), (60, 2), (61, 3), (90, 3), (91, 4),
                                             (900, 4)])
def test_a_sum_has_the_age_of_its_due_day(days: int, words: int) -> None:
    assert AGE_WORDS[age_of(date(2026, 3, 1), date(2026, 3, 1) + timedelta(days=days))] == AGE_WORDS[words]


# Taxes, against an independent computation in fractions, and published examples

def half_up(value: Fraction) -> int:
    """To the nearest whole, halves away from nought."""
    whole = abs(value) + Fraction(1, 2)
    return int(whole) if value >= 0 else -int(whole)


def expected(rule: TaxRule, prices: list[int]) -> tuple[int, list[int]]:
    """Net and taxes by fractions alone, written apart from the program's own sums."""
    rates = [Fraction(tax.rate, 100_000) for tax in rule.taxes]
    if rule.each_line:
        lines = [expected(TaxRule(rule.taxes, rule.second_on_first, rule.included), [one]) for one in prices]
        return sum(net for net, _ in lines), [sum(taxes[at] for _, taxes in lines) for at in range(len(rates))]
    total = sum(prices)
    if rule.included:
        all_in_all = Fraction(1)
        for at, rate in enumerate(rates):
            all_in_all += rate * (1 + rates[0]) if at and rule.second_on_first else rate
        net = Fraction(total) / all_in_all
        taxes = [half_up(net * (rate * (1 + rates[0]) if at and rule.second_on_first else rate)) for at, rate in enumerate(rates)]
        return total - sum(taxes), taxes
    taxes = []
    for at, rate in enumerate(rates):
        taxes.append(half_up((total + sum(taxes) if at and rule.second_on_first else total) * rate))
    return total, taxes


def random_case(dice: random.Random) -> tuple[TaxRule, list[int]]:
    taxes = tuple(Tax(name, dice.choice((0, 500, 700, 1900, 2000, 5000, 9975, 8875, dice.randrange(30_000))))
                  for name in ("first", "second")[:dice.randrange(3)])
    rule = TaxRule(taxes, dice.random() < 0.5, dice.random() < 0.5, dice.random() < 0.5)
    coins = dice.choice((10, 1000, 100_000, 10_000_000))  # 0, 2 and 3 digits after the point are other sizes of the same integers
    return rule, [dice.randrange(coins) for _ in range(dice.randrange(1, 12))]


def compare(cases: int, seed: int) -> None:
    """Quote, bill and payments of `cases` random sales agree to the smallest coin with the same in fractions."""
    dice = random.Random(seed)
    for _ in range(cases):
        rule, prices = random_case(dice)
        taxed = rule.on(prices)
        net, taxes = expected(rule, prices)
        assert (taxed.net_minor, list(taxed.taxes_minor)) == (net, taxes), (rule, prices)
        assert taxed.total_minor == (sum(prices) if rule.included else sum(prices) + sum(taxes))
        fee = dice.randrange(20_000)
        made = make_out(rule, [Row("work", one) for one in prices], [Row("fee", fee)], taxed.total_minor + fee, "")
        assert made.sums.total_minor == taxed.total_minor + fee
        assert sum(row.minor for row in made.rows) == (made.sums.total_minor if rule.included else made.sums.net_minor)
        owed, entries = made.sums.total_minor, []
        while owed > 0:
            part = dice.randrange(1, owed + 1)
            entries.append(Entered(EntryKind.PAYMENT, part))
            owed -= part
        assert balance([made.sums.total_minor], [], entries).owed_minor == 0


def test_sums_agree_with_the_same_in_fractions() -> None:
    """A thousand cases here; `python -m tests.money.test_rules 100000` by hand."""
    compare(1000, seed=2026)


@pytest.mark.parametrize(("rule", "prices", "net", "taxes", "source"), [
    (TaxRule((Tax("GST", 10_000),), included=True), [11_000], 10_000, [1000],
     "Australia: GST is one eleventh of the price, ATO media release 2000/36 (read in a copy of the page)"),
    (one_tax("GST", 1000), [5, 0], 5, [1],
     "Australia: half a cent is rounded up, GST Act 1999 s 9-90(1), (2)(a), read at austlii.edu.au and ato.gov.au; figures ours"),
    (TaxRule((Tax("VAT", 20_000),), included=True), [24_000], 20_000, [4000],
     "United Kingdom: 40 of 240, one sixth, at 20 % (worked example at bookkeepers.org.uk, read; HMRC Notice 700 from memory)"),
    (TaxRule((Tax("VAT", 5000),), included=True), [21_000], 20_000, [1000],
     "United Kingdom: 10 of 210, one twenty-first, at 5 % (the same example)"),
    (TaxRule((Tax("VAT", 17_500),), included=True), [23_500], 20_000, [3500],
     "United Kingdom: 35 of 235, seven forty-sevenths, at the 17.5 % of before (the same example)"),
    (TaxRule((Tax("GST", 5000), Tax("QST", 9975))), [10_000], 10_000, [500, 998],
     "Canada, Quebec: 100.00, GST 5.00, QST 9.98, total 114.98 (Revenu Québec, Calculating the Taxes, read at revenuquebec.ca)"),
    (TaxRule((Tax("GST", 5000), Tax("QST", 7500)), second_on_first=True), [10_000], 10_000, [500, 788],
     "Canada, Quebec in 2008: QST on the price with GST in it, 100.00, 5.00, 7.88, total 112.88 (Revenu Québec, archived, read)"),
])
def test_published_rules_of_three_countries(rule: TaxRule, prices: list[int], net: int, taxes: list[int], source: str) -> None:
    taxed = rule.on(prices)
    assert (taxed.net_minor, list(taxed.taxes_minor)) == (net, taxes), source


def test_rounding_by_line_and_by_total_differ_where_they_must() -> None:
    """Three lines of 0.33 at 5 %: by line 0.02 each, 0.06; by total 0.05 (0.99 × 5 % = 0.0495). By hand."""
    tax = (Tax("GST", 5000),)
    assert TaxRule(tax, each_line=True).on([33, 33, 33]).tax_minor == 6
    assert TaxRule(tax).on([33, 33, 33]).tax_minor == 5


if __name__ == "__main__":
    import sys

    compare(int(sys.argv[1]), seed=int(sys.argv[2]) if len(sys.argv) > 2 else 1)
    print(f"{sys.argv[1]} cases agree")  # noqa: T201 - by hand
