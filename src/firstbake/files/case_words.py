"""What is wrong with a case file or card, as one sentence."""

import difflib
from collections.abc import Mapping
from typing import Any, get_args

from pydantic import BaseModel, ValidationError

_KINDS = {
    "string_type": "should be text in quotes",
    "float_type": "should be a number",
    "int_type": "should be a whole number",
    "bool_type": "should be true or false",
    "list_type": "should be a list in square brackets",
    "tuple_type": "should be a list of three numbers in square brackets",
    "too_long": "has too many entries (decimals take a point: 74.5)",
    "too_short": "has too few entries",
    "missing": "is missing; add it",
    "finite_number": "should be a finite number",
    "string_too_short": "should not be empty",
    "string_too_long": "is too long",
    "model_type": "should be a table",
}


def key_path(parts: tuple[int | str, ...]) -> str:
    """("powders", 0, "card") -> "powders[1].card", counted as a person counts."""
    text = ""
    for part in parts:
        text += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if text else str(part)
    return text


def _known_keys(model: type[BaseModel], parts: tuple[int | str, ...]) -> list[str]:
    """The keys allowed in the table that `parts` lead to."""
    here: type[BaseModel] = model
    for part in parts:
        if isinstance(part, int):
            continue
        found = _tables_in(here.model_fields[part].annotation) if part in here.model_fields else []
        if not found:
            return []
        here = found[0]
    return list(here.model_fields)


def _tables_in(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [table for part in get_args(annotation) for table in _tables_in(part)]


def nearest_word(word: str, known: list[str]) -> str:
    """' Did you mean "x"?' or a list of what is known."""
    near = difflib.get_close_matches(word, known, n=1, cutoff=0.5)
    if near:
        return f'; did you mean "{near[0]}"?'
    return f"; known here: {', '.join(known)}" if known else ""


def sentence_of(error: ValidationError, model: type[BaseModel]) -> str:
    """The first fault of a pydantic check as one sentence, and how many more there are.

    A misspelt key comes before the missing key that it leaves behind.
    """
    faults = sorted(error.errors(include_url=False), key=lambda fault: fault["type"] != "extra_forbidden")
    first = faults[0]
    text = _fault_words(first, model)
    more = len(faults) - 1
    return text + (f" ({more} more fault{'s' if more > 1 else ''} in the file)" if more else "")


def _fault_words(fault: Mapping[str, Any], model: type[BaseModel]) -> str:
    parts: tuple[int | str, ...] = fault["loc"]
    path, kind = key_path(parts), str(fault["type"])
    if kind == "extra_forbidden":
        known = _known_keys(model, parts[:-1])
        return f'"{path}" is not a known key' + nearest_word(str(parts[-1]), known)
    if kind == "value_error":
        return str(fault["msg"]).removeprefix("Value error, ")
    if kind == "string_pattern_mismatch" and path.endswith("tooth"):
        return f'"{path}" should be an ISO 3950 number in quotes ("11" to "48"), got "{fault["input"]}"'
    if kind in ("greater_than", "greater_than_equal", "less_than", "less_than_equal"):
        return f'"{path}" {str(fault["msg"]).removeprefix("Input ").lower()}, got {fault["input"]}'
    if kind == "missing":
        return f'"{path}" is missing; add it'
    told = _KINDS.get(kind, str(fault["msg"]).removeprefix("Input ").lower())
    return f'"{path}" {told}, got {_shown(fault["input"])}'


def _shown(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."
