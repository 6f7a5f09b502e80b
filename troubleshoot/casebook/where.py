"""Where the index of a folder of cases is kept: in the cache folder, under a name made from the folder's own.

It stands by itself so that a start beside a small shelf, which has no index on disk, need not import the database.
"""

import hashlib
import os
from pathlib import Path

from troubleshoot import keeping


def index_file(folder: Path) -> Path:
    """The file of a folder's index, whether it is there or not."""
    mark = hashlib.blake2b(os.fsencode(os.path.realpath(folder)), digest_size=10).hexdigest()
    return keeping.folder() / f"shelf-{mark}.sqlite"


def is_big(folder: Path) -> bool:
    """Whether a shelf has an index on disk, so that its files are better not gone through."""
    return index_file(folder).exists()


def folder_stamp(folder: Path) -> int:
    """When something was last put into a folder or taken away (ns); 0 where there is none."""
    try:
        return folder.stat().st_mtime_ns
    except OSError:
        return 0
