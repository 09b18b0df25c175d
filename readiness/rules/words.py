"""How lengths, distances and lists are said in plain words, the same way everywhere."""

from collections.abc import Iterable
from decimal import Decimal

COUNTED_UNITS = {"courses", "days", "working days", "months"}


def metres(length_mm: int) -> str:
    """A length in mm as metres with at most two decimals: 2400 is "2.4 m", 250 is "0.25 m"."""
    text = f"{Decimal(length_mm) / 1000:.2f}".rstrip("0").rstrip(".")
    return f"{'0' if text in ('', '-0') else text} m"


def metres_exactly(length_mm: int) -> str:
    """A length in mm as a number of metres for a form field, to the mm: 2399 is "2.399"."""
    text = f"{Decimal(length_mm) / 1000:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def millimetres(length_mm: int | Decimal) -> str:
    """A length as whole millimetres where it is whole: 75 is "75 mm", 86.8 is "86.8 mm"."""
    return f"{number(length_mm)} mm"


def number(value: int | Decimal) -> str:
    """A number without trailing zeros and never in exponent form."""
    if isinstance(value, int):
        return str(value)
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def amount(value: int | Decimal, unit: str) -> str:
    """A value with its unit, of which there may be one; percent stands against its number."""
    if not unit:
        return number(value)
    if value == 1 and unit in COUNTED_UNITS:
        unit = unit.removesuffix("s")
    return f"{number(value)}{unit}" if unit == "%" else f"{number(value)} {unit}"


def where(from_mm: int | None, to_mm: int | None) -> str:
    """The place along a wall run: "at 2.4 m", "from 2.4 m to 5.1 m", or nothing."""
    if from_mm is None:
        return ""
    if to_mm is None or to_mm == from_mm:
        return f"at {metres(from_mm)}"
    return f"from {metres(from_mm)} to {metres(to_mm)}"


def quoted(text: str) -> str:
    """What somebody wrote, as the end of a sentence: it gets the full stop that it lacks."""
    words = text.strip()
    return f"“{words}”" if words.endswith((".", "!", "?", "…")) else f"“{words}”."


def listed(parts: Iterable[str], last: str = "and") -> str:
    """Words in a row: "a", "a and b", "a, b and c"."""
    words = list(parts)
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def counted(count: int, one: str, many: str | None = None) -> str:
    """A count with its noun: "1 thing", "4 things"."""
    return f"{count} {one if count == 1 else (many or one + 's')}"


def sentence(*parts: str) -> str:
    """Joins the parts that are not empty, capital first, full stop last."""
    text = " ".join(part.strip() for part in parts if part and part.strip())
    if not text:
        return ""
    text = text[0].upper() + text[1:]
    return text if text[-1] in ".!?" else f"{text}."
