"""The table of a study file for the lathe: insert, cut, stock, what supports the wall, what varies; in SI."""

from enum import Enum
from typing import Self

from pydantic import model_validator

from optitip.inputs.fields import Length, LengthOrZero, Name, Table
from optitip.units import UnitError, text


class Support(Enum):
    """What stands behind the thin wall while its outside is turned: nothing, a cast core, or a mandrel."""

    NONE = "none"
    CORE = "core"
    MANDREL = "mandrel"


class StockSeries(Enum):
    """Which sizes of round bar there are to turn from."""

    METRIC = "metric"
    INCH = "inch"


class Turning(Table):
    """How the parts are turned, and how far they may be off.

    ``nose_radius`` is that of the tool's edge, which every inside corner gets at least. ``smallest_bar`` is
    the thinnest boring bar there is, ``largest_stock`` the thickest round bar that goes into the lathe.
    ``depth_of_cut`` and ``feed`` (a turn) are those of the finishing cut over the wall. Either way off may be
    the band's thickness by ``wall_tolerance``, the slab's by ``slab_tolerance``, the cavity's fore face along
    the axis by ``bore_depth_tolerance``. ``finish`` is the outside's mean roughness Ra.
    """

    nose_radius: Length = 0.4e-3
    smallest_bar: Length = 5e-3
    largest_stock: Length = 0.16
    stock: StockSeries = StockSeries.METRIC
    support: Support = Support.NONE
    depth_of_cut: Length = 0.25e-3
    feed: Length = 0.1e-3
    wall_tolerance: LengthOrZero = 5e-5
    slab_tolerance: LengthOrZero = 2e-4
    bore_depth_tolerance: LengthOrZero = 1e-4
    finish: Length = 1.6e-6
    drawn_by: Name | None = None

    @model_validator(mode="after")
    def _tool_and_bars_can_be(self) -> Self:
        if self.feed > self.nose_radius:
            problem = (
                f"a feed of {text(self.feed, 'm')} is above the nose radius of {text(self.nose_radius, 'm')}"
            )
            raise UnitError(f"{problem}: it cuts a thread", "Feed less, or name a rounder tool")
        if self.smallest_bar > self.largest_stock:
            problem = f"smallest_bar {text(self.smallest_bar, 'm')} is above largest_stock"
            raise UnitError(f"{problem} {text(self.largest_stock, 'm')}", "Put the one right that is wrong")
        return self
