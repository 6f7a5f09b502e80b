"""Holding a document against a pydantic model: its findings put into plain words and in their place."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, TypeVar

from troubleshoot.documents.problems import Document, Problem, Problems, Trail, nearest, short

if TYPE_CHECKING:
    from pydantic import BaseModel
    from pydantic_core import ErrorDetails

    Model = TypeVar("Model", bound=BaseModel)


def validate(document: Document, model: type[Model], base_path: Trail = ()) -> Model:
    """Return what stands at `base_path` as `model`, strictly; raises Problems, each in words at its place."""
    from pydantic import ValidationError

    data = document.data
    for step in base_path:
        data = data[step]
    try:
        # JSON is the strict mode in which a list may fill a tuple
        return model.model_validate_json(json.dumps(data), strict=True)
    except ValidationError as failure:
        errors = failure.errors(include_url=False)
        found = [_judged(document, model, data, tuple(base_path), error) for error in errors]
    raise Problems(sorted(dict.fromkeys(found), key=lambda problem: (problem.line, problem.column)))


def _judged(document: Document, model: type[Model], data: Any, base: Trail, error: ErrorDetails) -> Problem:
    path = _followed(data, error["loc"])
    kind, context, value = error["type"], error.get("ctx", {}), error["input"]
    name = str(error["loc"][-1]) if error["loc"] else ""
    if kind == "extra_forbidden":
        text = f'"{short(name)}" is not known here{_hint(name, _known(model, error["loc"][:-1]))}'
        return document.problem((*base, *path, "@key"), text)
    if kind == "missing":
        return document.problem((*base, *path), f'{_called(path)} needs "{name}"; add it')
    at = (*base, *path)
    if name == "[key]":
        at, value, path = (*at, "@key"), error["loc"][-2], path[:-1]
    if value is None:
        return document.problem(at, f"{_called(path)} has no value; fill it in, or leave it out")
    if kind in ("literal_error", "enum"):
        allowed = re.findall(r"'([^']*)'", str(context["expected"]))
        return document.problem(at, f"{_called(path)} cannot be {_said(value)}{_hint(str(value), allowed)}")
    return document.problem(at, f"{_called(path)} {_wanted(kind, context, error['msg'])}, not {_said(value)}")


def _followed(data: Any, loc: Trail) -> Trail:
    """Return the steps of `loc` that the data has; a model adds names of its own where it has a choice."""
    path: Trail = ()
    for step in loc:
        if (isinstance(data, dict) and step in data) or (isinstance(data, list) and isinstance(step, int)):
            data, path = data[step], (*path, step)  # type: ignore[index]
    return path


def _known(model: Any, loc: Trail) -> list[str]:
    """Return the keys that the model at `loc` knows."""
    from typing import get_args

    from pydantic import BaseModel

    if isinstance(model, type) and issubclass(model, BaseModel):
        fields = {field.alias or name: field.annotation for name, field in model.model_fields.items()}
        if not loc:
            return list(fields)
        return _known(fields[str(loc[0])], loc[1:]) if str(loc[0]) in fields else []
    inner = [branch for branch in get_args(model) if branch is not type(None)]
    within = getattr(model, "__origin__", None) in (dict, list, tuple, Mapping) and loc
    return [key for branch in inner for key in _known(branch, loc[1:] if within else loc)]


def _hint(word: str, known: list[str]) -> str:
    close = nearest(word, known)
    meant = f'; did you mean "{close}"?' if close else ""
    listed = f"; allowed: {', '.join(known)}" if known and (len(known) <= 12 or not close) else ""
    return meant + listed.replace(";", "", 1 if meant else 0)


def _called(path: Trail) -> str:
    if not path:
        return "this"
    words = [f'"{short(step)}"' for step in path if isinstance(step, str)]
    if isinstance(path[-1], int):
        return f"item {path[-1] + 1}" + (f" of {words[-1]}" if words else "")
    return words[-1]


def _said(value: Any) -> str:
    if isinstance(value, dict | list):
        return "a mapping" if isinstance(value, dict) else "a list"
    return f'"{short(value)}"' if isinstance(value, str) else f"the number {value}"


def _wanted(kind: str, context: Mapping[str, Any], message: str) -> str:
    """Return what a value must be, from the kind of a finding of the model."""
    if kind in _WANTED:
        return _WANTED[kind].format_map({"min_length": 0, "max_length": 0, **context})
    return str(context.get("error") or message.replace("Input should", "must").replace("Value error, ", ""))


_WANTED = {
    "string_type": "must be text (put it in quotes if it looks like a number)",
    "int_type": "must be a whole number without quotes, unit or leading zero",
    "int_from_float": "must be a whole number",
    "float_type": "must be a plain number without quotes, unit or leading zero",
    "bool_type": "must be yes or no",
    "list_type": "must be a list",
    "tuple_type": "must be a list",
    "dict_type": "must be a mapping (name: value)",
    "model_type": "must be a mapping (name: value)",
    "greater_than": "must be more than {gt}",
    "greater_than_equal": "must be at least {ge}",
    "less_than": "must be less than {lt}",
    "less_than_equal": "must be at most {le}",
    "string_too_short": "must have at least {min_length} characters",
    "string_too_long": "must have at most {max_length} characters",
    "string_pattern_mismatch": "must follow the pattern {pattern}",
    "too_short": "must have at least {min_length} entries",
    "too_long": "must have at most {max_length} entries",
}
