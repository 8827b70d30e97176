"""Forms that carry a file: multipart/form-data as RFC 7578 has it."""

from __future__ import annotations

from dataclasses import dataclass, field
from email.message import Message
from email.parser import HeaderParser
from typing import Final

from bearwell.errors import BadInput
from bearwell.said import said

MOST_PARTS: Final = 40
LONGEST_FIELD: Final = 20_000  # bytes of a field that is no file


@dataclass(frozen=True)
class Upload:
    """The fields of a form, and its files by their field: what each is called, and what is in it."""

    fields: dict[str, list[str]] = field(default_factory=dict)
    files: dict[str, tuple[str, bytes]] = field(default_factory=dict)


def read_upload(content_type: str, body: bytes) -> Upload:
    """Read a form that carries files; BadInput where it is none."""
    head = Message()
    head["content-type"] = content_type
    boundary = head.get_boundary()
    if head.get_content_type() != "multipart/form-data" or not boundary:
        raise BadInput("this is no form with a file", "send it from the page")
    mark = b"\r\n--" + boundary.encode("latin-1", "replace")
    parts = (b"\r\n" + body).split(mark)
    if len(parts) < 2 or not parts[-1].startswith(b"--") or len(parts) - 2 > MOST_PARTS:
        raise BadInput("the form was cut short", "send it again")
    found = Upload()
    for part in parts[1:-1]:
        _take(part, found)
    return found


def _take(part: bytes, found: Upload) -> None:
    head, empty_line, content = part.removeprefix(b"\r\n").partition(b"\r\n\r\n")
    headers = HeaderParser().parsestr(head.decode("utf-8", "replace"))
    name = headers.get_param("name", header="content-disposition")
    if not empty_line or not isinstance(name, str):
        raise BadInput("a part of the form could not be read", "send it again")
    called = headers.get_param("filename", header="content-disposition")
    if isinstance(called, str):
        found.files[name] = called, content
        return
    if len(content) > LONGEST_FIELD:
        raise BadInput(
            said("'{name}' has {number} letters", name=name, number=len(content)),
            said("{number} at most", number=LONGEST_FIELD),
        )
    found.fields.setdefault(name, []).append(content.decode("utf-8", "replace"))
