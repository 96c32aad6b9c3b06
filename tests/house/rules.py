"""The house rules as functions over source text; each answers with a list of breaches."""

import ast
import re

ARROWS: tuple[tuple[str, ...], ...] = (
    ("cli",),
    ("files",),
    ("sheet",),
    ("crown",),
    ("recipe", "tabs", "target"),
    ("colour", "cooling", "firing", "green"),
    ("layering",),
    ("room",),
    ("case",),
    ("powder", "teeth"),
    ("fem",),
    ("mesh",),
    ("errors",),
)
LEVEL = {room: depth for depth, rooms in enumerate(ARROWS) for room in rooms}

OUTSIDE = {
    "igl": {"mesh"},
    "manifold3d": {"mesh"},
    "trimesh": {"files"},
    "matplotlib": {"files"},
    "cmcrameri": {"files"},
    "PIL": {"files"},
    "typst": {"files"},
    "cv2": {"files"},
    "rawpy": {"files"},
    "pydantic": {"files"},
    "platformdirs": {"files"},
    "tomllib": {"files"},
    "cyclopts": {"cli"},
    "rich": {"cli"},
}
PURE = set(LEVEL) - {"cli", "files", "errors"}
IMPURE_CALLS = {"open", "print", "input", "exec", "eval"}
IMPURE_MODULES = {"os", "sys", "time", "datetime", "random", "pathlib", "subprocess", "socket", "logging"}
BANNED_NAMES = {"utils", "util", "helpers", "helper", "common", "misc", "manager", "base", "core"}
UNITLESS = re.compile(
    r"(?:^|_)(thickness|distance|length|height|width|depth|area|volume|mass|weight|temperature|gap)$"
)
MAX_FILE_LINES, MAX_CODE_LINES, MAX_POSITIONAL = 300, 40, 4


def room_of(path: str) -> str:
    """ "src/firstbake/mesh/surface.py" -> "mesh"; "src/firstbake/crown.py" -> "crown"."""
    parts = path.split("firstbake/", 1)[1].split("/")
    return parts[0].removesuffix(".py")


def imported(tree: ast.AST) -> list[tuple[str, int]]:
    """Dotted names imported anywhere, with their lines."""
    names: list[tuple[str, int]] = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names += [(alias.name, node.lineno) for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            names += [(f"{node.module}.{alias.name}", node.lineno) for alias in node.names]
    return names


def arrow_breaches(path: str, source: str) -> list[str]:
    """Imports that run up or sideways, reach behind a door, or bring an outside library into a wrong room."""
    room, found = room_of(path), []
    for name, line in imported(ast.parse(source)):
        parts = name.split(".")
        if parts[0] == "firstbake" and len(parts) > 1 and parts[1] != "__version__":
            other = parts[1]
            if other not in LEVEL:
                found.append(f"{path}:{line} imports {name}, which is no room")
            elif other != room and LEVEL[other] <= LEVEL.get(room, -1):
                found.append(f"{path}:{line} {room} imports {other}: arrows run down only")
            elif other != room and len(parts) > 3:
                found.append(f"{path}:{line} imports {name} from behind the door of {other}")
        elif room not in OUTSIDE.get(parts[0], {room}):
            found.append(f"{path}:{line} {parts[0]} belongs to {', '.join(sorted(OUTSIDE[parts[0]]))}")
    return found


def purity_breaches(path: str, source: str) -> list[str]:
    """Input, output, clocks, environment and unseeded chance in a room that computes."""
    if room_of(path) not in PURE:
        return []
    tree, found = ast.parse(source), []
    for name, line in imported(tree):
        if name.split(".")[0] in IMPURE_MODULES:
            found.append(f"{path}:{line} imports {name}: the rooms that compute touch nothing outside")
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        called = ast.unparse(node.func)
        if called in IMPURE_CALLS:
            found.append(f"{path}:{node.lineno} calls {called}()")
        if called.endswith("default_rng") and not node.args:
            found.append(f"{path}:{node.lineno} draws chance without a seed")
        if re.match(r"np\.random\.(?!default_rng|Generator)", called):
            found.append(f"{path}:{node.lineno} uses the global random state")
    return found


def _code_lines(function: ast.FunctionDef | ast.AsyncFunctionDef, lines: list[str]) -> int:
    start = function.body[0]
    first = start.lineno
    is_docstring = isinstance(start, ast.Expr) and isinstance(start.value, ast.Constant)
    if is_docstring:
        if len(function.body) == 1:
            return 0
        first = (start.end_lineno or start.lineno) + 1
    rows = lines[first - 1 : function.end_lineno]
    return sum(1 for row in rows if row.strip() and not row.strip().startswith("#"))


def cap_breaches(path: str, source: str) -> list[str]:
    """Files and functions over their caps, and functions with too many positional parameters."""
    lines, found = source.splitlines(), []
    if len(lines) > MAX_FILE_LINES:
        found.append(f"{path} has {len(lines)} lines, the cap is {MAX_FILE_LINES}")
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            count = _code_lines(node, lines)
            if count > MAX_CODE_LINES:
                found.append(f"{path}:{node.lineno} {node.name} has {count} code lines, cap {MAX_CODE_LINES}")
            positional = [
                a.arg for a in node.args.posonlyargs + node.args.args if a.arg not in ("self", "cls")
            ]
            if len(positional) > MAX_POSITIONAL and room_of(path) != "cli":
                found.append(
                    f"{path}:{node.lineno} {node.name} takes {len(positional)} positional parameters"
                )
    return found


def name_breaches(path: str) -> list[str]:
    """Folder or file names that say nothing."""
    parts = path.removesuffix(".py").split("/")
    return [f"{path}: the name {part} says nothing" for part in parts if part in BANNED_NAMES]


def unit_breaches(path: str, source: str) -> list[str]:
    """Public dataclass fields that name a quantity without its unit."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.ClassDef):
            for field in node.body:
                if isinstance(field, ast.AnnAssign) and isinstance(field.target, ast.Name):
                    name = field.target.id
                    if not name.startswith("_") and UNITLESS.search(name):
                        found.append(f"{path}:{field.lineno} {node.name}.{name} has no unit in its name")
    return found


def docstring_breaches(path: str, source: str) -> list[str]:
    """Modules, public classes and public functions without a docstring."""
    tree = ast.parse(source)
    found = [] if ast.get_docstring(tree) else [f"{path} has no docstring"]
    for node in tree.body:
        public = isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_")
        if public and not ast.get_docstring(node):
            found.append(f"{path}:{node.lineno} {node.name} has no docstring")
    return found
