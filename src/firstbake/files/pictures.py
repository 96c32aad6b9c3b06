from dataclasses import dataclass
@dataclass(frozen=True)
class Picture:
    name: str
    words: str
    png: bytes
