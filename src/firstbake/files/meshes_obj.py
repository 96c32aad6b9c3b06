"""OBJ text, parsed here: why is written in docs/decisions/0007-reading-meshes.md."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from firstbake.errors import BadMesh
from firstbake.files.meshes_raw import LONGEST_NUMBER, RawMesh, check_count, fans


def is_obj(head: bytes) -> bool:
    """True when the first bytes of a file read like OBJ."""
    lines = [line.split() for line in head.splitlines()[:-1] or head.splitlines()]
    return b"\0" not in head and any(words[:1] in ([b"v"], [b"f"]) and len(words) >= 4 for words in lines)


def read_obj(data: bytes, *, name: str) -> RawMesh:
    """Vertices in their order and faces of an OBJ file; textures and normals are passed over.

    raises : BadMesh when a line does not hold what it should
    """
    words: list[bytes] = []
    corners: list[list[int]] = []
    count = 0
    for at, line in enumerate(data.splitlines(), 1):
        parts = line.split()
        if not parts or parts[0] not in (b"v", b"f"):
            continue
        if len(parts) < 4:
            raise BadMesh(f"{name}: line {at} has too few numbers; the file is damaged, so export it again")
        if parts[0] == b"v":
            words += parts[1:4]
            count += 1
            continue
        try:
            numbered = [int(part.split(b"/")[0]) for part in parts[1:]]
        except ValueError as reason:
            raise BadMesh(
                f"{name}: line {at} holds a corner that is not a number; export it again"
            ) from reason
        if 0 in numbered:
            raise BadMesh(f"{name}: line {at} names vertex 0, but OBJ counts from 1; export it again")
        corners.append([n - 1 if n > 0 else count + n for n in numbered])
    check_count(len(corners), name=name)
    faces, polygons = fans(corners, name=name)
    return RawMesh(_numbers(words, name=name).reshape(-1, 3), faces, polygons)


def _numbers(words: Sequence[bytes], *, name: str) -> NDArray[np.float64]:
    """Words of a file as float64. raises : BadMesh when one is not a number."""
    if max(map(len, words), default=0) > LONGEST_NUMBER:
        raise BadMesh(f"{name}: a coordinate has more than {LONGEST_NUMBER} characters; export it again")
    try:
        return np.array(words, dtype=np.bytes_).astype(np.float64)
    except ValueError as reason:
        raise BadMesh(f"{name}: a coordinate is not a number ({reason}); export it again") from reason
