"""`python -m bearwell.knowledge`: check every table and say what is in it."""

import sys

from bearwell.errors import KnowledgeError
from bearwell.knowledge import knowledge, used_sources


def main() -> int:
    """Load everything; print counts, or the first complaint."""
    try:
        book = knowledge()
    except KnowledgeError as error:
        print(error, file=sys.stderr)
        return 1
    kinds = [kind for kind in book.species.values() if not kind.abstract]
    rows = sum(
        fact.stated_by == kind.key for kind in book.species.values() for fact in kind.facts.values()
    )
    unused = set(book.sources) - used_sources(book)
    print(f"{len(kinds)} kinds, {rows} rows, {len(book.sources)} sources; unused: {sorted(unused)}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
