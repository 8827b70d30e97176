"""What a grower says about cutting: how the garden is cut, and why one tree may lose more."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, field_validator

from bearwell.garden.values import Model, measure, refuse


class Pruning(Model):
    """How this grower wants cutting planned."""

    late_rounds: Literal["after frost", "after harvest"] = "after frost"


class CutMore(Model):
    """A larger share than the year's usual one, and why."""

    share: Annotated[float, measure("share")] = Field(gt=0, le=0.9)
    reason: str

    @field_validator("reason")
    @classmethod
    def _said(cls, reason: str) -> str:
        if len(reason.split()) < 2:
            raise refuse(
                "cut_more needs its reason in words", 'reason = "outgrown its place under the hoop"'
            )
        return reason
