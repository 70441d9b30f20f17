"""What the rules of the lathe judge is what is turned: walls and bars against the parts' own curves."""

import itertools

import numpy as np
import pytest
from turned_tips import random_tips

from optitip.evaluate.turnable import turnable
from optitip.export.parts.laps_turned import GROOVE
from optitip.export.parts.turned import turned_parts
from optitip.geometry.lap import LapKind
from optitip.metrics.stock import CLEANED, FACED, PARTED

COUNT = 40


@pytest.fixture(scope="module")
def tips():
    return [(turnable(tip), turned_parts(tip)) for tip in itertools.islice(random_tips(11), COUNT)]


def test_each_part_comes_out_of_its_bar_with_what_faces_parting_and_chuck_take(tips):
    """To within the whole millimetre that is sawn, and the gap that a spigot's end keeps."""
    for lathe, parts in tips:
        assert [one.part for one in lathe.stock] == [part.name for part in parts]
        for stock, part in zip(lathe.stock, parts, strict=True):
            long = part.end - part.start
            spare = stock.length - stock.grip - FACED - PARTED - long
            assert -1e-6 < spare < 3e-3, (part.name, spare)
            ends = [one.start[1] for one in part.outer] + [part.outer[-1].end[1]]
            assert stock.bar.diameter >= 2.0 * max(ends) + CLEANED - 2e-5


def test_the_metal_of_spigot_and_skirt_is_that_of_the_curves(tips):
    found = 0
    for lathe, parts in tips:
        by_name = {part.name: part for part in parts}
        for lap in lathe.laps:
            if lap.joint != "base":
                continue
            spigot = by_name["shell"]
            inside = np.linspace(lap.start, min(lap.end, spigot.end), 34)[1:-1]
            thin = min(spigot.wall_at(z) for z in inside)
            groove = GROOVE if lap.kind is LapKind.THREAD else 0.0
            short = 0.4 * (lap.end - spigot.end)  # it ends short of the recess, where its bore is widest
            assert lap.spigot_wall - groove - 2e-5 < thin < lap.spigot_wall + short + 6e-5, lap.kind
            skirt, along = by_name["base"], np.linspace(lap.start, lap.end, 34)[1:-1]
            left = min(skirt.wall_at(z) for z in along if z > skirt.start + 1e-6)
            cut = lap.radius - lap.recess  # drawn as it is bored, the thread goes as deep as its crests
            assert left < lap.skirt_wall + cut + 6e-5
            found += 1
    assert found > 10
