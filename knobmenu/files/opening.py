"""Bytes of a design file: read with a bound, written whole or not at all, every failure said in plain words."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from knobmenu.errors import DesignError, Problem, nearest

LARGEST = 2 * 1024 * 1024
"""Largest design file that is read. Ten thousand settings take less than half of it. [bytes]"""

StrPath = str | os.PathLike[str]


def read_text(path: StrPath) -> str:
    """Read a file as UTF-8 text, without a byte order mark.

    Raises:
        DesignError: There is no such file, it cannot be read, it is too large, or it is no UTF-8 text.
    """
    file = os.fspath(path)
    try:
        with open(file, "rb") as stream:
            content = stream.read(LARGEST + 1)
    except FileNotFoundError:
        raise failed(file, "no file of this name", "the name of a design file", _nearby(file)) from None
    except IsADirectoryError:
        raise failed(file, "a folder", "a design file", "name a file inside of it") from None
    except PermissionError:
        raise failed(file, "a file that may not be read", "a file that you may read") from None
    except (OSError, ValueError) as error:
        raise failed(file, f"a file that cannot be read ({_reason(error)})", "a file that can be read") from None
    if len(content) > LARGEST:
        raise failed(file, f"a file of more than {LARGEST} bytes", f"at most {LARGEST} bytes")
    return text_of(content, file)


def text_of(content: bytes, file: str = "") -> str:
    """Decode a file's bytes.

    Raises:
        DesignError: They are no UTF-8 text.
    """
    if b"\0" in content:
        line = content[: content.index(b"\0")].count(b"\n") + 1
        wide = content[:2] in (b"\xff\xfe", b"\xfe\xff")
        found = "text in UTF-16" if wide else "a NUL byte, so this is no text file"
        raise failed(file, found, "text in UTF-8", "save it as UTF-8" if wide else "", line)
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        found = f"the byte 0x{content[error.start]:02X}, which is no UTF-8"
        raise failed(file, found, "text in UTF-8", "save it as UTF-8", line) from None


def failed(file: str, found: str, allowed: str, advice: str = "", line: int = 0) -> DesignError:
    """Make the error of a file as a whole."""
    return DesignError([Problem("", found, allowed, advice, file, line)])


def write_text(path: StrPath, text: str) -> None:
    """Replace a file's content at once: a reader sees the old or the new, a failure leaves the old.

    The file's permissions are kept; where it is a link, the file that it leads to is replaced.

    Raises:
        DesignError: It cannot be written.
    """
    file = os.fspath(path)
    try:
        target = os.path.realpath(file)
        handle, temporary = tempfile.mkstemp(dir=os.path.dirname(target), prefix=".knobmenu-")
        try:
            with open(handle, "wb") as stream:
                stream.write(text.encode("utf-8"))
                stream.flush()
                os.fsync(stream.fileno())
            os.chmod(temporary, _mode(target))
            os.replace(temporary, target)
        except BaseException:
            os.unlink(temporary)
            raise
    except (OSError, ValueError) as error:
        advice = "look at the folder and its permissions"
        raise failed(file, f"a file that cannot be written ({_reason(error)})", "a place to write to", advice) from None


def create_text(path: StrPath, text: str) -> None:
    """Write a new file, and never over an existing one.

    Raises:
        DesignError: There is something of that name already, or it cannot be written.
    """
    file = os.fspath(path)
    try:
        with open(file, "xb") as stream:
            stream.write(text.encode("utf-8"))
    except FileExistsError:
        raise failed(file, "a file of this name already", "the name of a new file", "choose another name") from None
    except (OSError, ValueError) as error:
        advice = "look at the folder and its permissions"
        raise failed(file, f"a file that cannot be written ({_reason(error)})", "a place to write to", advice) from None


def _mode(target: str) -> int:
    """Give the permissions of an existing file, or those that a new one gets."""
    try:
        return os.stat(target).st_mode & 0o7777
    except FileNotFoundError:
        mask = os.umask(0)
        os.umask(mask)
        return 0o666 & ~mask


def _nearby(file: str) -> str:
    """Advise the file of the same folder that is named most like this one."""
    folder = Path(file).parent
    try:
        names = sorted(os.listdir(folder))[:1000]
    except OSError:
        return f"there is no folder {folder} either"
    return nearest(Path(file).name, names)


def _reason(error: OSError | ValueError) -> str:
    """Give the system's own short words for a failure."""
    return (error.strerror or str(error)) if isinstance(error, OSError) else str(error)
