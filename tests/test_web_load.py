"""Many at once on the served pages: fifty read, five record, nothing fails and no record is lost.

Runs for some seconds here; BEARWELL_LOAD_SECONDS=60 makes it a minute.
"""

from __future__ import annotations

import os
import threading
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from itertools import count, cycle, islice
from pathlib import Path
from uuid import UUID

import httpx2 as httpx

from bearwell import api
from bearwell.faces.web import create_app
from gardens import TODAY
from running import running
from stores import kept, write

READERS, WRITERS = 50, 5
SECONDS = float(os.environ.get("BEARWELL_LOAD_SECONDS", "4"))
PAGES = (
    "/",
    "/trees",
    "/tree/one",
    "/tree/one/record",
    "/history",
    "/week.json",
    "/tonight",
    "/water",
)


def test_fifty_read_and_five_record_and_nothing_is_lost(tmp_path: Path) -> None:
    folder = tmp_path / "data"
    kept(str(folder), write(tmp_path / "file")).close()
    answered: Counter[int] = Counter()
    begun = threading.Barrier(READERS + WRITERS)

    def read(first: int) -> Counter[int]:
        seen: Counter[int] = Counter()
        with httpx.Client(base_url=home, timeout=60) as client:
            begun.wait()
            for page in islice(cycle(PAGES), first, None):
                if time.monotonic() > until:
                    return seen
                seen[client.get(page).status_code] += 1
        return seen

    def record(writer: int) -> list[str]:
        kept_ids = []
        with httpx.Client(base_url=home, timeout=60) as client:
            begun.wait()
            for number in count():
                if time.monotonic() > until:
                    break
                sent = str(UUID(int=(writer << 32) + number))
                form = {
                    "id": sent,
                    "kind": "counted",
                    "fruit": f"{100 + number}",
                    "by": f"writer {writer}",
                }
                answer = client.post(
                    "/tree/one/record", data=form, headers={"accept": "application/json"}
                )
                assert answer.status_code == 200, answer.text
                kept_ids.append(sent)
        return kept_ids

    with running(create_app(folder, today=lambda: TODAY)) as (home, _):
        until = time.monotonic() + SECONDS
        with ThreadPoolExecutor(READERS + WRITERS) as pool:
            readers = [pool.submit(read, number) for number in range(READERS)]
            writers = [pool.submit(record, number) for number in range(1, WRITERS + 1)]
            for each in readers:
                answered += each.result()
            sent = {one for each in writers for one in each.result()}

    with api.open_store(folder) as store:
        found = [one.entry.action for one in api.history(store, "one")]
    assert set(answered) == {200}, answered
    assert min(answered.values()) > READERS
    assert len(sent) > WRITERS
    assert sent <= set(found)
