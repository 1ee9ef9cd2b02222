"""How tax is put on prices, as columns: of the shop as it is set now, of a quote or a bill as it was when that was issued."""

from __future__ import annotations

from sqlalchemy.orm import Mapped, mapped_column

from app.kernel.taxes import A_BASIS_POINT, Tax, TaxRule


class TaxColumns:
    """One tax, or two; beside `tax_name` and `tax_rate_bp`, which each table has of its own."""

    tax_name: Mapped[str]
    tax_rate_bp: Mapped[int]
    tax_third_digit: Mapped[int] = mapped_column(default=0)  # of the rate in percent, after the point: thousandths, 0 to 9
    second_tax_name: Mapped[str] = mapped_column(default="")  # empty: there is one tax
    second_tax_rate: Mapped[int] = mapped_column(default=0)  # thousandths of a percent
    second_on_first: Mapped[bool] = mapped_column(default=False)  # the second tax is on the sum with the first in it
    tax_included: Mapped[bool] = mapped_column(default=False)  # prices have the tax in them
    tax_each_line: Mapped[bool] = mapped_column(default=False)  # rounded for each line, else once on the total

    @property
    def tax_rate(self) -> int:
        """The rate of the first tax in thousandths of a percent."""
        return self.tax_rate_bp * A_BASIS_POINT + self.tax_third_digit

    @property
    def tax_rule(self) -> TaxRule:
        second = (Tax(self.second_tax_name, self.second_tax_rate),) if self.second_tax_name else ()
        return TaxRule((Tax(self.tax_name, self.tax_rate), *second), self.second_on_first, self.tax_included,
                       self.tax_each_line)


TAX_COLUMNS = ("tax_name", "tax_rate_bp", "tax_third_digit", "second_tax_name", "second_tax_rate", "second_on_first",
               "tax_included", "tax_each_line")


def taxes_of(rule: TaxColumns) -> dict[str, object]:
    """The same columns, to be frozen in another table."""
    return {name: getattr(rule, name) for name in TAX_COLUMNS}
