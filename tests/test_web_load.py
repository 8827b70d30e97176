"""Many at once on the served pages: fifty read, five record, nothing fails and no record is lost.

Runs for some seconds here, until each has read and recorded its share; BEARWELL_LOAD_SECONDS=60 makes it a minute.
"""

from __future__ import annotations

import os
import threading
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from itertools import cycle, islice
from pathlib import Path
from uuid import UUID

import httpx2 as httpx

from bearwell import api
from bearwell.faces.web import create_app
from bearwell.faces.web.shield import WRITES_AT_ONCE
from gardens import TODAY
from running import running
from stores import kept, write

READERS, WRITERS = 50, 5
SECONDS = float(os.environ.get("BEARWELL_LOAD_SECONDS", "3"))
PAGES_EACH, RECORDS_EACH = 2, 4  # at the least, however long a machine takes to it
RECORDS_MOST = WRITES_AT_ONCE // WRITERS  # each: more from one address are told to wait
PATIENCE = 300  # seconds for one answer, after which something hangs
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

    recorded = threading.Event()

    def read(first: int) -> Counter[int]:
        seen: Counter[int] = Counter()
        with httpx.Client(base_url=home, timeout=PATIENCE) as client:
            begun.wait()
            for page in islice(cycle(PAGES), first, None):
                if recorded.is_set() and seen.total() >= PAGES_EACH:
                    return seen
                seen[client.get(page).status_code] += 1
        return seen

    def record(writer: int) -> list[str]:
        kept_ids: list[str] = []
        with httpx.Client(base_url=home, timeout=PATIENCE) as client:
            begun.wait()
            for number in range(RECORDS_MOST):
                if time.monotonic() > until and number >= RECORDS_EACH:
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
            try:
                sent = [one for each in writers for one in each.result()]
                time.sleep(max(0.0, until - time.monotonic()))
            finally:
                recorded.set()  # until then everybody reads
            for each in readers:
                answered += each.result()

    with api.open_store(folder) as store:
        found = [one.entry.action for one in api.history(store, "one")]
    assert set(answered) == {200}, answered
    assert answered.total() >= READERS * PAGES_EACH
    assert len(sent) >= WRITERS * RECORDS_EACH
    assert set(sent) <= set(found)
