"""Atomic writing of files, which never overwrites what must stay.

The content is first written to a temporary file in the same folder. `create` then links it to its name, which fails if
the name exists; `replace` renames it over a regular file. So a full disk, a crash or a signal leaves either the
complete file or nothing. Devices, pipes and folders are never replaced; for a link, its target is replaced, not the
link.
"""

from __future__ import annotations

import contextlib
import errno
import os
import stat
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path

from knobmenu.errors import FileError, quote_value

StrPath = str | os.PathLike[str]

_ANOTHER = "Choose another name."


def expand(name: str) -> Path:
    """Expand `~` and `~user` in a path that a user typed.

    Raises:
        FileError: The name is empty, cannot be a file's name, or refers to an unknown user.
    """
    if not name.strip():
        raise FileError(name, "a file name", "nothing", "Type the name of a file.")
    if "\0" in name:
        raise FileError(name, "a file name", "one with a NUL character", "Choose another name.")
    try:
        return Path(name).expanduser()
    except RuntimeError:
        user = name.partition("/")[0]
        raise FileError(name, "a user of this machine", quote_value(user), "Write the folder's name in full.") from None


def create(path: StrPath, content: str | bytes, advice: str = _ANOTHER) -> None:
    """Write a new file; an existing one is not changed.

    Args:
        path: The file.
        content: Its content; text is written as UTF-8.
        advice: What the message advises if the name exists.

    Raises:
        FileError: The name exists, or the file cannot be written.
    """
    name = os.fspath(path)
    with _report_refusals(name, advice):
        if os.path.lexists(name):
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST))
        temporary = _write_temporary(os.path.dirname(name), content)
        try:
            _link(temporary, name)
        finally:
            with contextlib.suppress(FileNotFoundError):
                os.unlink(temporary)


def refuse_input(path: StrPath, inputs: Iterable[StrPath]) -> None:
    """Refuse a name if writing to it would overwrite an input of the command.

    Raises:
        FileError: The name is that of an input, or leads to one.
    """
    if any(_is_same(path, given) for given in inputs):
        raise FileError(os.fspath(path), "a file that is not an input of this command", "an input", _ANOTHER)


def refuse_new(path: StrPath) -> None:
    """Refuse the name of a new file that cannot be created, as far as this can be checked without writing.

    Raises:
        FileError: The name exists, or its folder does not exist or is not writable.
    """
    name = os.fspath(path)
    with _report_refusals(name):
        # This detects a name that is too long; the other checks do not.
        with contextlib.suppress(FileNotFoundError):
            os.lstat(name)
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST))
        folder = os.path.dirname(name) or "."
        if not os.path.isabs(folder):
            # A deleted current folder still passes the check below, but not this call.
            os.getcwd()
        if not stat.S_ISDIR(os.stat(folder).st_mode):
            raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR))
        if not os.access(folder, os.W_OK | os.X_OK):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))


def replace(path: StrPath, content: str | bytes, inputs: Iterable[StrPath] = ()) -> None:
    """Write a file, replacing an existing one.

    The permissions of an existing file are kept; those of a new one follow the umask. If the name is a link, its target
    is written.

    Args:
        path: The file.
        content: Its content; text is written as UTF-8.
        inputs: Files that the content was made from, which are not overwritten.

    Raises:
        FileError: The name is that of an input, a folder, a device or a pipe, or the file cannot be written.
    """
    name = os.fspath(path)
    with _report_refusals(name):
        target = os.path.realpath(name)
        there = _get_status(target)
        if there is not None:
            _refuse_special(name, there)
            refuse_input(name, inputs)
        temporary = _write_temporary(os.path.dirname(target), content)
        try:
            if there is not None:
                os.chmod(temporary, stat.S_IMODE(there.st_mode))
            os.replace(temporary, target)
        except BaseException:
            with contextlib.suppress(FileNotFoundError):
                os.unlink(temporary)
            raise


def make_folder(path: StrPath) -> None:
    """Make a folder, unless it exists.

    Raises:
        FileError: The name exists and is not a folder, or the folder cannot be made.
    """
    name = os.fspath(path)
    with _report_refusals(name):
        if os.path.isdir(name):
            return
        try:
            os.mkdir(name)
        except FileExistsError:
            # Another process may have made it in the meantime.
            if not os.path.isdir(name):
                raise FileError(
                    name, "a folder, or the name of a new one", "something else of that name", _ANOTHER
                ) from None


def _write_temporary(folder: str, content: str | bytes) -> str:
    """Write a temporary file and flush it to the disk; return its name."""
    raw = content.encode("utf-8") if isinstance(content, str) else content
    handle, temporary = tempfile.mkstemp(dir=folder or ".", prefix=".knobmenu-")
    try:
        with open(handle, "wb") as stream:
            stream.write(raw)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(temporary, 0o666 & ~_get_umask())
    except BaseException:
        os.unlink(temporary)
        raise
    return temporary


def _link(temporary: str, name: str) -> None:
    """Give a temporary file its final name, which must not exist."""
    try:
        os.link(temporary, name)
    except OSError as error:
        if error.errno not in (errno.EPERM, errno.EOPNOTSUPP, errno.ENOSYS):
            raise
        # On a file system without links, another program may create the name between the two calls.
        if os.path.lexists(name):
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST)) from None
        os.rename(temporary, name)


def _get_status(path: str) -> os.stat_result | None:
    try:
        return os.stat(path)
    except FileNotFoundError:
        return None


def _refuse_special(name: str, there: os.stat_result) -> None:
    for is_special, what in _SPECIAL:
        if is_special(there.st_mode):
            raise FileError(name, "a file", what, _ANOTHER)


_SPECIAL = (
    (stat.S_ISDIR, "a folder"),
    (stat.S_ISFIFO, "a pipe"),
    (stat.S_ISSOCK, "a socket"),
    (stat.S_ISBLK, "a device"),
    (stat.S_ISCHR, "a device"),
)


def _is_same(target: StrPath, given: StrPath) -> bool:
    try:
        return os.path.samefile(target, given)
    except OSError:
        return False


def _get_umask() -> int:
    # No system call reads the umask without setting it.
    mask = os.umask(0o077)
    os.umask(mask)
    return mask


@contextlib.contextmanager
def _report_refusals(name: str, advice: str = _ANOTHER) -> Iterator[None]:
    """Convert errors of the system to `FileError`."""
    try:
        yield
    except FileExistsError:
        if os.path.isdir(name):
            raise FileError(name, "the name of a new file", "an existing folder", _ANOTHER) from None
        raise FileError(name, "the name of a new file", "an existing file", advice) from None
    except (OSError, ValueError) as error:
        raise FileError(name, "a file that can be written", *explain_unwritable(error)) from None


def explain_unwritable(error: OSError | ValueError) -> tuple[str, str]:
    """Return why the system did not write a file, and what to do."""
    if isinstance(error, ValueError):
        return quote_value(str(error)), _ANOTHER
    found = (error.strerror or str(error)).lower()
    match error.errno:
        case errno.ENOSPC | errno.EDQUOT:
            return found, "Make room on the disk, or write elsewhere."
        case errno.ENOENT:
            return "a folder that does not exist", "Make the folder first, or write elsewhere."
        case errno.EISDIR:
            return "a folder", _ANOTHER
        case errno.ENOTDIR:
            return "a file where its folder should be", _ANOTHER
        case errno.ENAMETOOLONG:
            return found, "Choose a shorter name."
        case errno.EACCES | errno.EPERM | errno.EROFS:
            return found, "Choose a folder that you have permission to write to."
    return found, _ANOTHER
