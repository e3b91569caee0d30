"""Reads the TOML files of a folder that a stranger may have written.

Bounded in size, number and nesting; never follows a link; never reads beside the folder.
"""

import tomllib
from collections.abc import Iterator
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

#: The longest profile shipped is a tenth of this.
LARGEST_FILE_BYTES = 256 * 1024
MOST_FILES = 5000
#: A profile needs five levels: document, stages, one stage, one value, its sources.
DEEPEST_NESTING = 8
#: Beyond it a float no longer tells one whole number from the next.
LARGEST_NUMBER = 2**53


class UnreadableFileError(Exception):
    """A file that is no readable TOML document; the message says why and what would do."""


class PackFolderError(Exception):
    """A pack folder that cannot be walked at all."""


def toml_files(root: Traversable) -> Iterator[tuple[str, Traversable]]:
    """The TOML files of a pack folder, as (path relative to it, file), sorted: first its own, then by order.

    Raises
    ------
    PackFolderError
        When the folder is missing or holds more files than a pack may.
    """
    if not root.is_dir():
        raise PackFolderError(f"There is no folder {root}.")
    found: list[tuple[str, Traversable]] = []
    folders: list[tuple[str, Traversable]] = [("", root)]
    while folders:
        prefix, folder = folders.pop()
        for entry in folder.iterdir():
            path = prefix + entry.name
            if entry.name.endswith(".toml"):
                found.append((path, entry))
            elif entry.is_dir() and not _is_link(entry) and not entry.name.startswith((".", "__")):
                folders.append((path + "/", entry))
            if len(found) > MOST_FILES:
                raise PackFolderError(f"A pack holds at most {MOST_FILES} TOML files.")
    yield from sorted(found, key=lambda item: (item[0].count("/"), item[0]))


def _is_link(entry: Traversable) -> bool:
    # Only a folder on a disk can hold links; a pack inside a zipped distribution cannot.
    return isinstance(entry, Path) and entry.is_symlink()


def read_toml(entry: Traversable) -> dict[str, Any]:
    """The document of one file.

    Raises
    ------
    UnreadableFileError
        When it is a link, no plain file, too large, not UTF-8, not TOML, nested too deeply, or holds a
        number that is none.
    """
    if _is_link(entry):
        raise UnreadableFileError("This is a link. Put the file itself into the pack's folder.")
    if not entry.is_file():
        raise UnreadableFileError("This is not a plain file.")
    with entry.open("rb") as file:
        raw = file.read(LARGEST_FILE_BYTES + 1)
    if len(raw) > LARGEST_FILE_BYTES:
        raise UnreadableFileError(f"The file is larger than {LARGEST_FILE_BYTES // 1024} KiB.")
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise UnreadableFileError(f"Line {line} is not UTF-8 text. Save the file as UTF-8.") from None
    try:
        document = tomllib.loads(text)
    except RecursionError:
        raise UnreadableFileError("Lists or tables are nested too deeply.") from None
    except ValueError as error:  # TOMLDecodeError, and a number of thousands of digits
        raise UnreadableFileError(f"This is not TOML: {error}.") from None
    _refuse_what_json_cannot_hold(document)
    return document


def _refuse_what_json_cannot_hold(document: dict[str, Any]) -> None:
    pending: list[tuple[str, int, Any]] = [("", 0, document)]
    while pending:
        pointer, depth, value = pending.pop()
        if depth > DEEPEST_NESTING:
            raise UnreadableFileError("Lists or tables are nested too deeply.")
        if isinstance(value, dict):
            pending += [(f"{pointer}/{name}", depth + 1, part) for name, part in value.items()]
        elif isinstance(value, list):
            pending += [(f"{pointer}/{index}", depth + 1, part) for index, part in enumerate(value)]
        elif isinstance(value, (int, float)) and not abs(value) <= LARGEST_NUMBER:  # not >: NaN is neither
            raise UnreadableFileError(f"{pointer} is not a number that can be used.")
