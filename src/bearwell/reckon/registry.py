"""Every reckoner by name, and how one is run from typed options."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from bearwell.errors import BadInput
from bearwell.reckon import cold, crop, feeding, sky, tree, water
from bearwell.reckon.model import Reckoner, Reckoning
from bearwell.said import listed, said

# Those of feeding come last: they put wider forms of dose and removal in the place of the plain ones.
_ROOMS = (sky, water, cold, tree, crop, feeding)
RECKONERS: dict[str, Reckoner] = {one.name: one for room in _ROOMS for one in room.RECKONERS}


def find_reckoner(name: str) -> Reckoner:
    """The reckoner of a name; BadInput lists what there is."""
    if name not in RECKONERS:
        near = get_close_matches(name, RECKONERS, n=2)
        raise BadInput(
            said("no reckoner '{name}'", name=name),
            said("did you mean {listed}?", listed=listed(near, "{one} or {other}"))
            if near
            else ", ".join(RECKONERS),
        )
    return RECKONERS[name]


def run(name: str, typed: Mapping[str, Sequence[str]]) -> Reckoning:
    """Run a reckoner on options as they were typed, each a list of texts.

    Raises BadInput naming the option for anything missing, unknown or unusable.
    """
    reckoner = find_reckoner(name)
    known = {option.name: option for option in reckoner.options}
    for given in typed:
        if given not in known:
            near = get_close_matches(given, known, n=1)
            raise BadInput(
                said("{name} has no option --{option}", name=name, option=given),
                said("did you mean {listed}?", listed=f"--{near[0]}")
                if near
                else said("options: {listed}", listed=", ".join("--" + one for one in known)),
            )
    values: dict[str, Any] = {}
    for option in reckoner.options:
        texts = list(typed.get(option.name, ()))
        if not texts:
            if option.required:
                raise BadInput(
                    said("{name} needs --{option}", name=name, option=option.name), option.help
                )
            continue
        if len(texts) > 1 and not option.multiple:
            raise BadInput(
                said("--{option} is given {count} times", option=option.name, count=len(texts)),
                "give it once",
            )
        try:
            read = [option.read(text) for text in texts]
        except BadInput as error:
            message = said("--{option}: {message}", option=option.name, message=error.message)
            raise BadInput(message, error.hint) from None
        values[option.key] = read if option.multiple else read[0]
    results, because, cautions = reckoner.compute(values)
    return Reckoning(
        name, {key: _plain(value) for key, value in values.items()}, results, because, cautions
    )


def _plain(value: Any) -> Any:
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Path):
        return str(value)
    if isinstance(value, tuple | list):
        return [_plain(one) for one in value]
    return value
