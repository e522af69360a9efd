"""Each lint on a good and a bad example of its own, so that a lint that sees nothing is found out."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.arch import lints

LONG = "    x = 1\n" * 61
EXAMPLES: list[tuple[Callable[[str], list[str]], str, str]] = [
    (lints.too_long, "def f():\n" + LONG[:-10], "def f():\n" + LONG),
    (lints.too_long, '@kernel\ndef f():\n    """Doc."""\n' + LONG + LONG[:-20], "@kernel\ndef f():\n" + LONG + LONG),
    (lints.all_list, '__all__ = ["LIMIT", "Face", "area"]\nLIMIT = 1\nclass Face: ...\ndef area(): ...', "def area(): ..."),
    (lints.all_list, '"""Only words."""', '__all__ = ["b", "a"]\na = b = 1'),
    (lints.all_list, 'from x import y\n__all__ = ["y"]', '__all__ = ["y"]'),
    (lints.all_list, "__all__ = ['Maybe']\nPair = tuple[float, float]\nMaybe = float | None", "PAIR = shapes[0]"),
    (lints.all_list, "META = Meta()\ndef run(case): ...", "META = Meta()\ndef runs(case): ..."),
    (lints.all_list, 'T = TypeVar("T")\n_private = 1', '__all__ = []\nlength, width = 1, 2'),
    (lints.bare_small_numbers, "x = 0.5 + 1e3 + 0x1e", "x = y < 1e-9"),
    (lints.bare_small_numbers, 'x = "1e-9"  # 1e-9', "x = 0.000001"),
    (lints.no_docstring, '"""A face."""', "x = 1"),
    (lints.transform_names, "def f(part_from_tool: Transform): ...", "def f(pose: Transform): ..."),
    (lints.transform_names, "a_from_b: Transform = c", "class A:\n    pose: Transform"),
    (lints.transform_names, "a_from_b = Transform(c)", "pose = Transform(c)"),
    (lints.kernel_raises, "def f():\n    raise E", "@kernel\ndef f():\n    raise E"),
    (lambda text: lints.imports_of(text, "setwright"), "import setwrighty", "from setwright.base import units"),
    (lambda text: lints.imports_of(text, "setwright"), "import math", "def f():\n    import setwright.base"),
    (lints.proves_nothing, "def test_a():\n    assert f()", "def test_a():\n    f()"),
    (lints.proves_nothing, "def test_a():\n    with pytest.raises(E):\n        f()", "def test_a():\n    sleep(1)\n    assert f()"),
    (lints.proves_nothing, "def test_a():\n    refused(f(), 422)", "def test_a():\n    response(f(), 422)"),
    (lints.proves_nothing, "def test_a():\n    raise AssertionError('fell over')", "def test_a():\n    raise ValueError('x')"),
    (lints.places_of_a_machine, 'xmlns="htt' 'p://www.w3.org/2000/svg" a/work/b', "see htt" "ps://example.org"),
    (lints.places_of_a_machine, "a /workshop/ and x/home/y", "in /ho" "me/someone"),
]  # fmt: skip


@pytest.mark.parametrize(("lint", "good", "bad"), EXAMPLES)
def test_lint_tells_good_from_bad(lint: Callable[[str], list[str]], good: str, bad: str) -> None:
    assert lint(good) == []
    assert lint(bad) != []


def test_imports_from_outside_are_seen() -> None:
    text = "import os.path\nimport numpy as np\nfrom scipy.stats import t\nfrom . import x\nfrom setwright.base import units"
    assert lints.outside_imports(text) == {"numpy", "scipy"}


def test_an_exception_is_by_name() -> None:
    assert lints.too_long("def f():\n" + LONG, excepted=frozenset({"f"})) == []
    assert lints.too_long("def f():\n" + LONG, excepted=frozenset({"g"})) != []
