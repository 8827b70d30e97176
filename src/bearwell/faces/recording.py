"""Commands that record what was done, seen, picked, counted, measured or decided, and the history of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from functools import wraps
from itertools import groupby
from typing import TYPE_CHECKING, Any

import click

from bearwell.errors import BadInput
from bearwell.faces.clock import today_at
from bearwell.faces.language import N_, _
from bearwell.faces.options import (
    Day,
    Measure,
    data_option,
    json_option,
    stamped,
    store_of,
    today_option,
)
from bearwell.faces.storing import tell
from bearwell.faces.telling import action_in_words, entry_twin, plain
from bearwell.said import said

if TYPE_CHECKING:
    from bearwell.api import Advice, Recorded, Stamp, Store, Told

ON_HELP = "The day of it, if not today."
NOTE_HELP = "A remark to keep with it."
ID_HELP = "The record's own UUID; sent again it is the same record and not a second one."
ADVICE_HELP = "The advice it carried out, by its id; TREE and JOB are left out then."
PATH_HELP = "A branch path, its chance and its fruit: 0.42:21; may be given more than once."


@click.group()
def record() -> None:
    """Record what happened: the plan goes on from it. Every record can be undone.

    Measures are typed with their unit: "150 g", "2.1 m". What was recorded is told with its id.
    """


@contextmanager
def _ready(
    data: str | None, today: date | None, record_id: str | None, by: str
) -> Iterator[tuple[Store, Stamp, date]]:
    """The store open, a stamp, and the date at the site."""
    with store_of(data) as store:
        yield store, stamped(store, record_id, by), today or today_at(store)


def _shared(command: Callable[..., Any]) -> Callable[..., Any]:
    """What every record takes: the store, who, its id, the day it is; and how it is told."""

    @click.option("--by", default="", help="Who recorded it.")
    @click.option("--id", "record_id", default=None, help=ID_HELP)
    @today_option
    @data_option
    @wraps(command)
    def run(
        data: str | None, today: date | None, record_id: str | None, by: str, **rest: Any
    ) -> None:
        with _ready(data, today, record_id, by) as (store, stamp, day):
            done: Recorded = command(store, stamp, day, **rest)
        if done.repeated:
            click.echo(_("recorded before: {record}", record=done.id))
        else:
            click.echo(_("recorded: {record}", record=done.id))
        tell(done.problems)

    return run


def _advice(store: Store, advice_id: str, today: date) -> Advice:
    from bearwell import api

    return api.find_advice(api.open_garden(store, today), advice_id)


@record.command()
@click.argument("tree", required=False)
@click.argument("job", required=False)
@click.option("--advice", "advice_id", default=None, help=ADVICE_HELP)
@click.option("--on", "day", type=Day(), default=None, help=ON_HELP)
@click.option("--product", default=None, help="The bag it came from.")
@click.option(
    "--amount",
    type=Measure(),
    default=None,
    help='How much was given: "150 g"; for watering "20 L".',
)
@click.option("--look", default=None, help="Which look, for the job inspect.")
@click.option("--note", default="", help=NOTE_HELP)
@_shared
def done(
    store: Store,
    stamp: Stamp,
    today: date,
    tree: str | None,
    job: str | None,
    advice_id: str | None,
    day: date | None,
    **given: Any,
) -> Recorded:
    """Work done: the JOB is feed, prune, thin, water, protect, harvest, inspect or measure.

    With --advice and nothing else it was done as advised.
    """
    from bearwell import api

    when = day or today
    if advice_id is None:
        if tree is None or job is None:
            raise BadInput("TREE and JOB are needed", "or --advice with the id of an advice")
        return api.record_done(store, stamp, today, tree=tree, job=job, day=when, **given)
    advice = _advice(store, advice_id, today)
    if not any(given[key] for key in ("product", "amount", "look")):
        return api.record_as_advised(
            store, stamp, today, advice=advice, day=when, note=given["note"]
        )
    return api.record_done(
        store, stamp, today, tree=advice.tree, job=advice.kind, day=when, advice=advice, **given
    )


@record.command()
@click.argument("tree")
@click.argument("event")
@click.option("--on", "day", type=Day(), default=None, help=ON_HELP)
@_shared
def seen(
    store: Store, stamp: Stamp, today: date, tree: str, event: str, day: date | None
) -> Recorded:
    """A stage seen on a tree: EVENT is such as "full bloom", "harvest start", "leaf fall"."""
    from bearwell import api

    return api.record_seen(store, stamp, today, tree=tree, event=event, day=day or today)


@record.command()
@click.argument("tree")
@click.argument("mass", type=Measure())
@click.option("--on", "day", type=Day(), default=None, help=ON_HELP)
@click.option("--fruit", type=click.IntRange(min=0), default=None, help="How many fruit it was.")
@click.option("--year", type=int, default=None, help="The year it counts for, if not that of the day.")  # fmt: skip
@click.option("--whole", is_flag=True, help="It is the whole crop of the year, not one picking more.")  # fmt: skip
@click.option(
    "--sound",
    type=Measure(),
    default=None,
    help='How much of it was worth keeping, such as "85 %".',
)
@click.option("--note", default="", help="Anything worth remembering of it.")
@_shared
def harvest(
    store: Store, stamp: Stamp, today: date, tree: str, mass: str, day: date | None, **given: Any
) -> Recorded:
    """A picking, added to the crop of its year; MASS is such as "4.5 kg"."""
    from bearwell import api

    return api.record_harvest(store, stamp, today, tree=tree, mass=mass, day=day or today, **given)


@record.command()
@click.argument("tree")
@click.argument("fruit", required=False, type=click.IntRange(min=0))
@click.option("--path", "paths", multiple=True, metavar="P:N", help=PATH_HELP)
@click.option("--on", "day", type=Day(), default=None, help=ON_HELP)
@_shared
def count(
    store: Store,
    stamp: Stamp,
    today: date,
    tree: str,
    fruit: int | None,
    paths: Sequence[str],
    day: date | None,
) -> Recorded:
    """A fruit count: FRUIT on the whole tree, or --path for branch paths."""
    from bearwell import api

    return api.record_count(
        store, stamp, today, tree=tree, day=day or today, fruit=fruit,
        paths=[_path(text) for text in paths],
    )  # fmt: skip


def _path(text: str) -> tuple[float, int]:
    chance, _, found = text.partition(":")
    try:
        return float(chance), int(found)
    except ValueError:
        raise BadInput(
            said("'{text}' is not a branch path", text=text), "its chance and its fruit: 0.42:21"
        ) from None


@record.command()
@click.argument("tree")
@click.option("--height", type=Measure(), default=None, help='Its height: "2.1 m".')
@click.option(
    "--spread", type=Measure(), multiple=True, help="Its spread; given twice, along and across."
)
@click.option("--skirt", type=Measure(), default=None, help="The height of its lowest foliage.")
@click.option(
    "--trunk-girth", type=Measure(), default=None, help="Round the trunk, above the union."
)
@click.option("--shoot-growth", type=Measure(), default=None, help="Length of a usual new shoot.")
@click.option("--on", "day", type=Day(), default=None, help=ON_HELP)
@_shared
def measure(
    store: Store,
    stamp: Stamp,
    today: date,
    tree: str,
    spread: Sequence[str],
    day: date | None,
    **given: str | None,
) -> Recorded:
    """Measures of a tree; the newest by their day hold, older ones stay in the history."""
    from bearwell import api

    measures: dict[str, str | Sequence[str]] = {key: one for key, one in given.items() if one}
    if spread:
        measures["spread"] = spread[0] if len(spread) == 1 else list(spread)
    return api.record_measure(store, stamp, today, tree=tree, day=day or today, measures=measures)


@record.command()
@click.argument("product")
@click.argument("on_hand", type=Measure())
@click.option("--on", "day", type=Day(), default=None, help=ON_HELP)
@_shared
def stock(
    store: Store, stamp: Stamp, today: date, product: str, on_hand: str, day: date | None
) -> Recorded:
    """What a bag weighs now: feedings recorded from then on are taken off."""
    from bearwell import api

    return api.record_stock(store, stamp, today, product=product, on_hand=on_hand, day=day or today)


@record.command()
@click.argument("advice_id", metavar="ADVICE")
@click.argument("reason")
@_shared
def skip(store: Store, stamp: Stamp, today: date, advice_id: str, reason: str) -> Recorded:
    """Leave an ADVICE undone this time, for a REASON; it is listed as held back."""
    from bearwell import api

    advice = _advice(store, advice_id, today)
    return api.record_skip(store, stamp, today, advice=advice, reason=reason)


@record.command()
@click.argument("advice_id", metavar="ADVICE")
@click.argument("until", type=Day())
@click.option("--reason", default="", help=N_("Why."))
@_shared
def postpone(
    store: Store, stamp: Stamp, today: date, advice_id: str, until: date, reason: str
) -> Recorded:
    """Put an ADVICE off to the day UNTIL, within its days."""
    from bearwell import api

    advice = _advice(store, advice_id, today)
    return api.record_postpone(store, stamp, today, advice=advice, until=until, reason=reason)


@record.command()
@click.argument("what", metavar="RECORD")
@_shared
def undo(store: Store, stamp: Stamp, today: date, what: str) -> Recorded:
    """Undo a RECORD by its id, or the first letters of it; an undo can be undone too."""
    from bearwell import api

    return api.undo(store, stamp, today, record=what)


# ---------------------------------------------------------------- history


@click.command()
@click.option("--tree", default="", help="Only what is about this tree.")
@click.option("--last", type=click.IntRange(min=1), default=None, help="Only the newest so many.")
@data_option
@json_option
def history(tree: str, last: int | None, data: str | None, as_json: bool) -> None:
    """Everything that was recorded, newest first, undone records too."""
    from bearwell import api
    from bearwell.faces.twins import written

    with store_of(data) as store:
        told = api.history(store, tree)
    actions = [list(group) for _, group in groupby(told, key=lambda one: one.entry.action)][:last]
    if as_json:
        click.echo(written([entry_twin(one) for action in actions for one in action], indent=2))
        return
    for action in actions:
        for line in _lines(action):
            click.echo(line)


def _lines(action: Sequence[Told]) -> Iterator[str]:
    """A record in plain words: when, what, and whether it holds."""
    first = action[-1].entry
    head = f"{first.action[:8]}  {first.recorded_at[:16].replace('T', ' ')}"
    tail = f"  {_('by {name}', name=plain(first.by))}" if first.by else ""
    if not action[-1].holds:
        tail += f"  ({_('undone by {record}', record=action[-1].undone_by[:8])})"
    for line in action_in_words(action):
        yield f"{head}  {line}{tail}"
