"""Where the terminal keeps compiled families between starts."""

from catchpan.assembly import home_folder
from catchpan.store.family_shelf import FolderShelf


def family_shelf() -> FolderShelf:
    """Return the shelf in the program's own folder; it keeps nothing where it cannot write."""
    return FolderShelf(home_folder() / "cache" / "families")
