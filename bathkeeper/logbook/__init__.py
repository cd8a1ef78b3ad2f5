"""The only room that reads or writes the book."""

from bathkeeper.logbook.book import Book, accept, default_path, salvage
from bathkeeper.logbook.errors import (
    BookBusy,
    BookError,
    DuplicateEntry,
    EntryRefused,
    ImportRefused,
    InsertOnly,
    MergeConflict,
    NotABook,
    ReadOnlyBook,
)

__all__ = [
    "Book",
    "BookBusy",
    "BookError",
    "DuplicateEntry",
    "EntryRefused",
    "ImportRefused",
    "InsertOnly",
    "MergeConflict",
    "NotABook",
    "ReadOnlyBook",
    "accept",
    "default_path",
    "salvage",
]
