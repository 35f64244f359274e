"""Codes that the source spells out, found by looking at it."""

from __future__ import annotations

import ast
from pathlib import Path

import harnessdiff

PACKAGE = Path(harnessdiff.__file__).parent


def nodes(module: str) -> list[ast.AST]:
    """Everything in a module, or in all modules of a package."""
    path = PACKAGE / module
    files = sorted(path.rglob("*.py")) if path.is_dir() else [path.with_suffix(".py")]
    return [node for file in files for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))]


def texts(node: ast.AST) -> set[str]:
    """Every text that is spelled out in an expression."""
    return {one.value for one in ast.walk(node) if isinstance(one, ast.Constant) and isinstance(one.value, str)}


def first_of(module: str, *calls: str) -> set[str]:
    """Texts that some functions, or methods, are called with as their first argument."""
    found: set[str] = set()
    for node in nodes(module):
        if isinstance(node, ast.Call) and node.args and _name(node.func) in calls:
            found |= texts(node.args[0]) if isinstance(node.args[0], ast.Constant | ast.IfExp) else set()
    return found


def keyword_of(module: str, name: str, *calls: str) -> set[str]:
    """Texts that an argument of this name is given in calls of some classes."""
    found: set[str] = set()
    for node in nodes(module):
        if isinstance(node, ast.Call) and _name(node.func) in calls:
            given = [one.value for one in node.keywords if one.arg == name]
            found |= {text for one in given if isinstance(one, ast.Constant | ast.IfExp) for text in _values(one)}
    return found


def _values(node: ast.Constant | ast.IfExp) -> set[str]:
    """The texts that an expression may come to; not those that it is decided by."""
    return texts(node) if isinstance(node, ast.Constant) else texts(node.body) | texts(node.orelse)


def _name(function: ast.expr) -> str:
    return function.attr if isinstance(function, ast.Attribute) else getattr(function, "id", "")


def returned(module: str, function: str) -> set[str]:
    """Texts that a function of this name gives back, first of a pair or alone."""
    found: set[str] = set()
    for node in nodes(module):
        if isinstance(node, ast.FunctionDef) and node.name == function:
            for one in ast.walk(node):
                value = one.value if isinstance(one, ast.Return) else None
                value = value.elts[0] if isinstance(value, ast.Tuple) and value.elts else value
                found |= _values(value) if isinstance(value, ast.Constant | ast.IfExp) else set()
    return found
