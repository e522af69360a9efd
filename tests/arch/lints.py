"""The house rules that no general tool knows, each a function from a module's text to what is wrong with it.

Every lint returns complaints as "line: what"; an empty list is a clean module.
"""

from __future__ import annotations

import ast
import io
import re
import sys
import tokenize
from collections.abc import Iterator

MOST_FILE_LINES = 600
MOST_BODY_LINES = 60
MOST_KERNEL_LINES = 120
SMALLEST_BARE_NUMBER = 0.00001


def functions(tree: ast.AST) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    """Every function of a module, methods and inner ones too."""
    return (node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef))


def is_kernel(function: ast.FunctionDef | ast.AsyncFunctionDef) -> bool:
    """Whether a function is compiled."""
    return any(isinstance(mark, ast.Name) and mark.id == "kernel" for mark in function.decorator_list)


def body_lines(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines from the first statement after the docstring to the last."""
    body = function.body[1:] if ast.get_docstring(function) is not None else function.body
    return (function.end_lineno or 0) - body[0].lineno + 1 if body else 0


def too_long(text: str, *, excepted: frozenset[str] = frozenset()) -> list[str]:
    """Functions over 60 lines, kernels over 120, unless named in `excepted`."""
    complaints = []
    for function in functions(ast.parse(text)):
        most = MOST_KERNEL_LINES if is_kernel(function) else MOST_BODY_LINES
        if body_lines(function) > most and function.name not in excepted:
            complaints.append(f"{function.lineno}: {function.name} has {body_lines(function)} lines, more than {most}")
    return complaints


def top_names(tree: ast.Module, *, types: bool) -> set[str]:
    """The public names a module defines at its top level; short names of types and type variables only if `types`: those may
    be listed for others, but need not."""
    names: set[str] = set()
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            names.add(node.name)
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            parts = [p for t in targets for p in (t.elts if isinstance(t, ast.Tuple) else [t])]
            names |= {part.id for part in parts if isinstance(part, ast.Name) and (types or not is_type(part.id, node.value))}
    return {name for name in names if not name.startswith("_")}


def is_type(name: str, value: ast.expr | None) -> bool:
    """Whether an assignment only gives a type a short name, as in `Pair = tuple[float, float]`."""
    made = value.func if isinstance(value, ast.Call) else None
    variable = isinstance(made, ast.Name) and made.id in ("TypeVar", "ParamSpec")
    return variable or (isinstance(value, ast.Subscript | ast.BinOp) and name[:1].isupper() and not name.isupper())


def imported_names(tree: ast.Module) -> set[str]:
    """What a module has from elsewhere."""
    imports = [node for node in tree.body if isinstance(node, ast.ImportFrom | ast.Import)]
    return {alias.asname or alias.name for node in imports for alias in node.names}


def name_order(name: str) -> tuple[int, str]:
    """CONSTANTS, then Classes, then functions, each by alphabet."""
    return (0 if name.isupper() else 1 if name[:1].isupper() else 2, name)


def all_list(text: str) -> list[str]:
    """`__all__` names every public thing of the module, in order, and nothing that is not there."""
    tree = ast.parse(text)
    lists = [node.value for node in tree.body if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__all__"]
    stated = lists[0] if lists else None
    defined = top_names(tree, types=False)
    if stated is None and {"META", "run"} <= defined:
        return []  # a check: its public face is the same for all
    if stated is None:
        return [f"1: no __all__, but {', '.join(sorted(defined))}"] if defined else []
    names: list[str] = ast.literal_eval(stated)
    complaints = []
    if names != sorted(names, key=name_order):
        complaints.append(f"{stated.lineno}: __all__ is not in order")
    if missing := defined - set(names):
        complaints.append(f"{stated.lineno}: public but not in __all__: {', '.join(sorted(missing))}")
    if unknown := set(names) - top_names(tree, types=True) - imported_names(tree):
        complaints.append(f"{stated.lineno}: in __all__ but not here: {', '.join(sorted(unknown))}")
    return complaints


def bare_small_numbers(text: str) -> list[str]:
    """A tolerance is named in base/tolerance.py, with unit and derivation; nowhere else stands a small number."""
    complaints = []
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        written = token.string.lower()
        if token.type != tokenize.NUMBER or written.startswith(("0x", "0b", "0o")) or written.endswith("j"):
            continue
        if "e-" in written or 0.0 < float(written) < SMALLEST_BARE_NUMBER:
            complaints.append(f"{token.start[0]}: bare small number {written}")
    return complaints


def no_docstring(text: str) -> list[str]:
    """Every module says in its first lines what it is."""
    return [] if ast.get_docstring(ast.parse(text)) else ["1: the module does not say what it is"]


def transform_names(text: str) -> list[str]:
    """Whatever is of type Transform is called `a_from_b`, so that chains read by matching neighbours."""
    complaints = []
    for node in ast.walk(ast.parse(text)):
        named = [(node.arg, node.annotation)] if isinstance(node, ast.arg) else []
        if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
            named = [(node.target.id, node.annotation)]
        if isinstance(node, ast.Assign) and isinstance(node.value, ast.Call) and ast.unparse(node.value.func) == "Transform":
            named = [(target.id, ast.Name("Transform")) for target in node.targets if isinstance(target, ast.Name)]
        for name, annotation in named:
            of_type = annotation is not None and ast.unparse(annotation).strip("'\"") == "Transform"
            if of_type and not name.isupper() and name not in ("self", "other") and not re.fullmatch(r"\w+_from_\w+", name):
                complaints.append(f"{node.lineno}: a Transform called {name}")
    return complaints


def kernel_raises(text: str) -> list[str]:
    """A kernel answers with a status code; it neither raises nor catches."""
    return [
        f"{node.lineno}: kernel {function.name} raises or catches"
        for function in functions(ast.parse(text))
        if is_kernel(function)
        for node in ast.walk(function)
        if isinstance(node, ast.Raise | ast.Try)
    ]


def imports_of(text: str, package: str) -> list[str]:
    """Where a module imports a package."""
    complaints = []
    for node in ast.walk(ast.parse(text)):
        modules = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
        modules += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
        complaints += [f"{node.lineno}: imports {name}" for name in modules if name.split(".")[0] == package]
    return complaints


def outside_imports(text: str) -> set[str]:
    """The packages a module imports that are neither Python's own nor this one."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            names.add(node.module or "")
    return {name.split(".")[0] for name in names} - sys.stdlib_module_names - {"setwright"}


def proves_nothing(text: str) -> list[str]:
    """A test that holds nothing against the truth: no assert, no expected refusal, no helper that asserts; or one that sleeps."""
    complaints = []
    for function in functions(ast.parse(text)):
        if not function.name.startswith("test_"):
            continue
        calls = [ast.unparse(node.func) for node in ast.walk(function) if isinstance(node, ast.Call)]
        asserts = any(isinstance(node, ast.Assert) for node in ast.walk(function)) or "AssertionError" in calls
        helped = any(re.search(r"(^|[._])(raises|warns|fail|(assert|check|expect|refuse)\w*)$", name) for name in calls)
        if not asserts and not helped:
            complaints.append(f"{function.lineno}: {function.name} proves nothing")
        if any(name in ("sleep", "time.sleep") for name in calls):
            complaints.append(f"{function.lineno}: {function.name} sleeps")
    return complaints


def places_of_a_machine(text: str) -> list[str]:
    """Addresses on the network and folders of one machine; the names of open standards' vocabularies are no addresses."""
    host = "htt" + r"ps?://(?!www\.w3\.org/|qifstandards\.org/xsd/|localhost|127\.0\.0\.1)"
    pattern = re.compile(host + r"|(?<![\w.$}])/(?:" + "work|root|home|Users" + r")/\w")
    return [f"{number}: {line.strip()[:80]}" for number, line in enumerate(text.splitlines(), 1) if pattern.search(line)]
