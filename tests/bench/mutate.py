"""How many small faults would the tests let live? Mutates places of the package, one at a time.

    python tests/bench/mutate.py COUNT [--seed S] [--rooms judge,jobs] [--workers W]

Each mutant is one changed operator, comparison, constant, condition or returned value in a copy
of the checkout; the tests of its room that come to mind first are run on it: the module's own
test file, then those of the whole room, then of the rooms that import it. It lives if all pass.
Survivors are printed as file, line, what stood there and what stands there now. Compiled kernels
are left out unless --kernels is given (each would have to be compiled anew). The yardstick is the
share that dies; a mutant that changes nothing anybody could see is named by hand in the report.
"""

import argparse
import ast
import concurrent.futures
import os
import random
import shutil
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
_KERNELS = ("njit", "intrinsic", "from render.compiled import")
_SWAPS: dict[type, type] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.And: ast.Or,
    ast.Or: ast.And,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.USub: ast.UAdd,
}
_local = threading.local()


@dataclass(frozen=True)
class Mutant:
    """One changed place."""

    module: Path
    line: int
    before: str
    after: str
    source: str


def mutant_of(module: Path, rng: random.Random) -> Mutant | None:
    """One place of a module, drawn and changed; None where nothing can be."""
    tree = ast.parse(module.read_text(encoding="utf-8"))
    places = [(node, change) for node in ast.walk(tree) for change in _changes(node)]
    if not places:
        return None
    node, change = rng.choice(places)
    before, line = ast.unparse(node)[:80], getattr(node, "lineno", 0)
    change(node)
    return Mutant(module, line, before, ast.unparse(node)[:80], ast.unparse(tree))


Change = Callable[[Any], None]


def _changes(node: ast.AST) -> list[Change]:
    """What can be changed about one node."""
    match node:
        case ast.Compare(ops=[first, *_]) if type(first) in _SWAPS:
            return [lambda n: n.ops.__setitem__(0, _SWAPS[type(n.ops[0])]())]
        case ast.BinOp(op=op) | ast.BoolOp(op=op) if type(op) in _SWAPS:
            return [lambda n: setattr(n, "op", _SWAPS[type(n.op)]())]
        case ast.UnaryOp(op=ast.USub()):
            return [lambda n: setattr(n, "op", ast.UAdd())]
        case ast.IfExp():
            return [_turned_round]
        case ast.Constant(value=float()):
            return [lambda n: setattr(n, "value", n.value * 1.2 + 0.1)]
        case ast.Constant(value=int() as value) if not isinstance(value, bool):
            return [lambda n: setattr(n, "value", n.value + 1)]
        case ast.Return(value=ast.expr() as value) if not isinstance(value, ast.Constant):
            return [lambda n: setattr(n, "value", ast.Constant(None))]
    return []


def _turned_round(node: ast.IfExp) -> None:
    node.body, node.orelse = node.orelse, node.body


def tests_of(module: Path) -> list[list[str]]:
    """What to run for a module: its own test, its room, the rooms that use it; quickest first."""
    inside = module.relative_to(ROOT / "render")
    own = Path("tests") / inside.parent / f"test_{inside.name}"
    room = Path("tests") / inside.parts[0] if len(inside.parts) > 1 else own
    name = ".".join(("render", *inside.with_suffix("").parts))
    users = sorted(
        {
            str(Path("tests") / user.relative_to(ROOT / "render").parent / f"test_{user.name}")
            for user in (ROOT / "render").rglob("*.py")
            if f"from {name} import" in user.read_text(encoding="utf-8")
        }
    )
    users = [user for user in users if (ROOT / user).exists() and "page" not in user]
    return [[str(own)], [str(room)], users]


def lives(mutant: Mutant, limit_s: float) -> bool:
    """Whether every test passes on a copy with the mutant in it."""
    if not hasattr(_local, "copy"):
        _local.copy = Path(tempfile.mkdtemp(prefix="mutants_")) / "house"
        ignore = shutil.ignore_patterns(".git", ".venv", "build", "*.egg-info")
        shutil.copytree(ROOT, _local.copy, ignore=ignore)
    at = _local.copy / mutant.module.relative_to(ROOT)
    whole = at.read_text(encoding="utf-8")
    at.write_text(mutant.source, encoding="utf-8")
    try:
        for group in tests_of(mutant.module):
            if not group:
                continue
            command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", *group]
            environment = {
                **os.environ,
                "PYTHONPATH": f"{_local.copy}:{os.environ.get('PYTHONPATH', '')}",
            }
            try:
                done = subprocess.run(
                    command,
                    cwd=_local.copy,
                    capture_output=True,
                    timeout=limit_s,
                    env=environment,
                    check=False,
                )
            except subprocess.TimeoutExpired:
                return False
            if done.returncode not in (0, 5):
                return False
        return True
    finally:
        at.write_text(whole, encoding="utf-8")


def main() -> None:
    """Draw mutants, try them, and print who lived."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    asked.add_argument("count", type=int)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--rooms", default="")
    asked.add_argument("--workers", type=int, default=1)
    asked.add_argument("--limit", type=float, default=300.0)
    asked.add_argument("--kernels", action="store_true")
    wishes = asked.parse_args()
    rooms = [room for room in wishes.rooms.split(",") if room]
    modules = [
        module
        for module in sorted((ROOT / "render").rglob("*.py"))
        if module.name not in ("__init__.py", "__main__.py")
        and (not rooms or module.relative_to(ROOT / "render").parts[0] in rooms)
        and (wishes.kernels or not any(k in module.read_text("utf-8") for k in _KERNELS))
    ]
    rng = random.Random(wishes.seed)
    weights = [module.stat().st_size for module in modules]
    drawn = (mutant_of(module, rng) for module in rng.choices(modules, weights, k=wishes.count))
    chosen = [mutant for mutant in drawn if mutant is not None]
    with concurrent.futures.ThreadPoolExecutor(wishes.workers) as pool:
        found = pool.map(lambda mutant: (mutant, lives(mutant, wishes.limit)), chosen)
        survivors = []
        for mutant, lived in found:
            if lived:
                survivors.append(mutant)
                where = mutant.module.relative_to(ROOT)
                print(
                    f"LIVES {where}:{mutant.line}: {mutant.before!r} -> {mutant.after!r}",
                    flush=True,
                )
    print(f"seed {wishes.seed}: {len(survivors)} of {len(chosen)} mutants live")


if __name__ == "__main__":
    main()
