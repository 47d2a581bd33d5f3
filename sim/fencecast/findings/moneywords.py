"""How sums of money are written: the user's currency, thousands separated, cents only where there are any."""

from __future__ import annotations

NO_PRICE = "no price"


def money_text(value: float | None, currency: str = "") -> str:
    """`1,400 EUR`, `12.50 EUR`; None `no price`. currency: as the user wrote it, "" for none."""
    if value is None:
        return NO_PRICE
    return _with(f"{value:,.2f}".removesuffix(".00"), currency)


def unit_price_text(value: float | None) -> str:
    """The price of one, with up to four decimals where cents are too coarse: `0.125`."""
    if value is None or abs(round(value, 2) - value) < 1e-9:
        return money_text(value)
    return f"{value:,.4f}".rstrip("0")


def rate_of_money_text(value: float | None, currency: str = "") -> str:
    """Money for a metre: a quotient has no exact cents, so they are written below 100 alone, and where there are any."""
    if value is None:
        return "-"
    return _with(f"{value:,.2f}".removesuffix(".00") if value < 100.0 else f"{value:,.0f}", currency)


def difference_text(value: float | None) -> str:
    """`+1,300`, `−250`, `0`; None `not known`."""
    if value is None:
        return "not known"
    sign = "+" if value > 0.0 else "−" if value < 0.0 else ""
    return f"{sign}{money_text(abs(value))}"


def number_of_text(value: float) -> str:
    """The number of a line of a bill, with up to two decimals: `7`, `163.5`, `1,250`."""
    return f"{value:,.2f}".rstrip("0").rstrip(".")


def _with(text: str, currency: str) -> str:
    return f"{text} {currency}" if currency else text
