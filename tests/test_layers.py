"""The arrows between the apps, the purity of the pure modules, one clock, one place of writing."""

import ast
import re
import subprocess
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
APPS = ["shared", "fleet", "lifts", "alignment"]
OURS = {*APPS, "deploy", "tests"}
MAY_IMPORT = {
    "shared": {"shared"},
    "fleet": {"shared", "fleet"},
    "lifts": {"shared", "fleet", "lifts"},
    "alignment": {"shared", "fleet", "alignment"},
    "deploy": {*APPS, "deploy"},
}
FRAMEWORKS = {"django", "django_tables2", "django_filters", "csp", "celery", "kombu", "redis"}
PURE = {
    "shared/units.py",
    "shared/plates.py",
    "shared/plots.py",
    "shared/tree.py",
    "shared/checkpoint.py",
    "fleet/due.py",
    "fleet/calendar_text.py",
    "fleet/reading_doubts.py",
    "fleet/usage.py",
    "fleet/schedule.py",
    "fleet/rulebook.py",
    "fleet/history.py",
    "fleet/layup.py",
    "fleet/lateness.py",
    "fleet/verdicts.py",
    "fleet/tyre_codes.py",
    "lifts/speed.py",
    "lifts/speed_classes.py",
    "lifts/stopping.py",
    "lifts/stability.py",
    "lifts/stability_drawing.py",
    "lifts/tipping.py",
    "lifts/lettering.py",
    "lifts/label_drawing.py",
    "lifts/joint_places.py",
    "lifts/joint_drawing.py",
    "lifts/lubricant.py",
    "lifts/threads.py",
    "lifts/preload.py",
    "lifts/proof.py",
    "lifts/torque.py",
    "lifts/wrench_error.py",
    "lifts/delivered.py",
    "lifts/wrench_standing.py",
    "alignment/contradictions.py",
    "alignment/counting.py",
    "alignment/geometry.py",
    "alignment/judging.py",
    "alignment/order.py",
    "alignment/readings.py",
    "alignment/uncertainty.py",
    "alignment/ink.py",
    "alignment/front_drawing.py",
    "alignment/how_drawing.py",
    "alignment/top_drawing.py",
    "alignment/part_drawing.py",
    "alignment/band_drawing.py",
    "alignment/trend_drawing.py",
    "alignment/settling.py",
    "alignment/signs.py",
    "alignment/steering_wheel.py",
    "alignment/advice.py",
    "alignment/learning.py",
    "alignment/drift.py",
    "alignment/asking.py",
    "alignment/correcting.py",
    "alignment/next_step.py",
}
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "manage.py",
    "requirements.txt",
    *APPS,
    "tests",
    "deploy",
}
# each writes rows outside the actions, for the reason beside it
WRITERS = {
    "shared/facts.py": "files facts, entries and heads for every action",
    "shared/filing.py": "inserts the rows of facts and entries",
    "shared/sealing.py": "writes checkpoints, and the epoch of a head with its restore",
    "shared/triggers.py": "lays triggers, which are no rows",
    "shared/roles.py": "takes back rights, which are no rows",
    "shared/alone.py": "takes advisory locks, which are no rows",
    "fleet/told_of.py": "asks which tables hold anything of some carts, and writes nothing",
    "shared/standing.py": "reads facts as rows by ready statements, and writes nothing",
    "fleet/doctor/database.py": "asks the database for its settings, and writes nothing",
}


@pytest.fixture(autouse=True, scope="module")
def trees_let_go():
    """Let no other test carry the trees of all files."""
    yield
    tree_of.cache_clear()
    nodes.cache_clear()


def modules(*apps):
    return sorted(path for app in apps for path in (ROOT / app).rglob("*.py"))


def name_of(path):
    return path.relative_to(ROOT).as_posix()


@cache
def tree_of(path):
    return ast.parse(path.read_text(), str(path))


@cache
def nodes(path):
    return list(ast.walk(tree_of(path)))


@cache
def imported(path):
    """Return the dotted name of each module that a file imports, or may import from one."""
    found = set()
    for node in nodes(path):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            found |= {f"{node.module}.{alias.name}" for alias in node.names}
    return found


@cache
def is_pure(path):
    """Say whether a module is listed as pure, or calls itself so."""
    doc = ast.get_docstring(tree_of(path)) or ""
    return name_of(path) in PURE or re.search(r"\bPure\b(?! but)", doc) is not None


def dotted(node):
    """Return ``a.b`` for an attribute of a plain name, else only the attribute."""
    if isinstance(node.value, ast.Name):
        return f"{node.value.id}.{node.attr}"
    return node.attr


@pytest.mark.parametrize("app", MAY_IMPORT)
def test_arrows_point_down(app):
    upward = {
        f"{name_of(path)} imports {name}"
        for path in modules(app)
        for name in imported(path)
        if name.split(".")[0] in OURS - MAY_IMPORT[app]
    }

    assert upward == set()


@pytest.mark.parametrize("app", [*APPS, "deploy"])
def test_imports_are_whole_names(app):
    dots = [
        f"{name_of(path)}:{node.lineno}"
        for path in modules(app)
        for node in nodes(path)
        if isinstance(node, ast.ImportFrom) and node.level
    ]

    assert dots == []


def test_the_listed_pure_modules_are_there():
    assert sorted(name for name in PURE if not (ROOT / name).exists()) == []


@pytest.mark.parametrize("app", APPS)
def test_pure_modules_import_no_framework_and_only_pure_ones_of_ours(app):
    pure = {name_of(path) for path in modules(*APPS) if is_pure(path)}
    pure_names = {name.removesuffix(".py").replace("/", ".") for name in pure}

    def is_allowed(name):
        top = name.split(".")[0]
        if top not in OURS:
            return top not in FRAMEWORKS
        return name in pure_names or name.rpartition(".")[0] in pure_names

    impure = {
        f"{name_of(path)} imports {name}"
        for path in modules(app)
        if name_of(path) in pure
        for name in imported(path)
        if not is_allowed(name)
    }

    assert impure == set()


def inner_imports(path):
    return {
        f"{name_of(path)}:{inner.lineno}"
        for node in nodes(path)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        for inner in ast.walk(node)
        if isinstance(inner, ast.Import | ast.ImportFrom)
    }


@pytest.mark.parametrize("app", [*APPS, "deploy"])
def test_imports_stand_at_the_top(app):
    assert {place for path in modules(app) for place in inner_imports(path)} == set()


CLOCKS = {"timezone.now", "datetime.now", "datetime.utcnow", "datetime.today", "date.today"}
CLOCKS |= {"time.time", "time.time_ns"}


def clock_reads(path):
    for node in nodes(path):
        if isinstance(node, ast.Attribute) and dotted(node) in CLOCKS:
            yield f"{name_of(path)}:{node.lineno} {dotted(node)}"
        if isinstance(node, ast.Call) and not node.args and not node.keywords:
            called = node.func.attr if isinstance(node.func, ast.Attribute) else None
            called = node.func.id if isinstance(node.func, ast.Name) else called
            if called in ("localdate", "localtime"):
                yield f"{name_of(path)}:{node.lineno} {called}"


@pytest.mark.parametrize("app", APPS)
def test_only_the_clock_reads_the_time(app):
    reads = [read for path in modules(app) for read in clock_reads(path)]

    assert [read for read in reads if not read.startswith("shared/clock.py:")] == []


def is_door(path):
    parts = path.relative_to(ROOT).parts
    return (
        path.name in ("views.py", "tasks.py")
        or "views" in parts
        or parts[1:3] == ("management", "commands")
        or name_of(path) == "shared/viewer.py"
    )


@pytest.mark.parametrize("app", APPS)
def test_only_doors_ask_the_clock(app):
    asked = [
        name_of(path)
        for path in modules(app)
        if not is_door(path)
        and (
            "shared.clock.now" in imported(path)
            or any(isinstance(n, ast.Attribute) and dotted(n) == "clock.now" for n in nodes(path))
        )
    ]

    assert asked == []


ALWAYS_WRITE = {"create", "get_or_create", "update_or_create", "bulk_create", "bulk_update"}
ALWAYS_WRITE |= {"acreate", "abulk_create", "asave", "aupdate", "adelete", "execute", "executemany"}
# with a positional argument these belong to dictionaries, hashes, images or caches
WRITE_BARE = {"save", "update", "delete"}


def is_write(node):
    if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)):
        return False
    return node.func.attr in ALWAYS_WRITE or (node.func.attr in WRITE_BARE and not node.args)


def claims(tree):
    """Every node inside a claim of a QuerySet: one conditional update of own columns."""
    return {
        inner
        for kind in ast.walk(tree)
        if isinstance(kind, ast.ClassDef) and kind.name.endswith("QuerySet")
        for method in kind.body
        if isinstance(method, ast.FunctionDef) and method.name.startswith("claim")
        for inner in ast.walk(method)
    }


def writes(path):
    inside_claims = claims(tree_of(path))
    for node in nodes(path):
        if is_write(node) and node not in inside_claims:
            yield f"{name_of(path)}:{node.lineno} .{node.func.attr}("


def may_write(path):
    parts = path.relative_to(ROOT).parts
    return (
        path.name == "actions.py"
        or {"actions", "migrations"} & set(parts[:-1])
        or name_of(path) in WRITERS
    )


@pytest.mark.parametrize("app", APPS)
def test_only_actions_write(app):
    assert [w for path in modules(app) if not may_write(path) for w in writes(path)] == []


def test_each_exempt_writer_still_writes():
    assert sorted(name for name in WRITERS if not list(writes(ROOT / name))) == []


def test_top_level_is_the_ten_names():
    listed = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    tops = {name.split("/")[0] for name in listed.stdout.split("\0") if name}

    assert {name for name in tops if not name.startswith(".")} == TOP_LEVEL
