"""``optitip new NAME``: a folder with a commented starter study that runs as it is."""

from pathlib import Path
from typing import Annotated

import typer

from optitip.cli.answers import console
from optitip.errors import UserMistakes

STUDY = """# A nose tip that warms a sample with the flight's own heat. Every number carries its unit.
# The values below are all a study needs; lines that start with # show the defaults of the rest.
title = "{title}"

[flight]
# A recorded flight: a CSV with columns such as "time [s],altitude [m],speed [m/s]" (or mach).
# record = "flight.csv"
# or an ascent from a thrust curve. The numbers in this starter are invented: put your own in.
site_altitude = "0 m"
site_temperature = "15 degC"
# start_temperature = "15 degC"   # of tip and sample, before any wait; the site's unless given
# soak = "600 s"                  # time after landing that is still computed

[flight.ascent]
thrust = "thrust.csv"
drag = "drag.csv"
start_mass = "11 kg"
propellant_mass = "4 kg"
# rail_length = "3 m"
# rail_angle = "86 deg"

# [flight.pad]
# wait = "0 s"                    # before lift-off; the sample's heat counts from lift-off
# wind = "0 m/s"                  # across the tip, on the ground
# sun = "0 W/m2"                  # across the tip, on the ground; some 800 W/m2 under a clear sky

# [flight.descent]
# attitude = "across"             # forward, across (the stream) or inside (a shell)
# base = "closed"                 # open: the nose comes down apart, and air reaches the base from aft
# drogue_rate = "25 m/s"          # rates as at sea level; a record that goes on to landing has its own
# main_height = "200 m"
# main_rate = "6 m/s"

[outline]
family = "von Karman"             # cone, tangent ogive, Haack LV, ellipse, power, parabola
diameter = "75 mm"
length = "375 mm"
# tip_radius = "3 mm"             # 4 % of the diameter unless given
# turned_length = "112.5 mm"      # what is turned of it: 1.5 diameters unless given

[tip]
material = "6061-T6"              # 'optitip materials' lists them
# fore_taper = "5.6 mm"
# aft_taper = "5.6 mm"
# boring = "damped"               # or steel, heavy metal, carbide: the stiffest boring bar there is

# [tip.plug]
# length = "39 mm"                # on the axis, nose point to the cavity
# wall = "2.4 mm"                 # at the plug's end
# fillet = "1 mm"

[tip.band]
thickness = "1.2 mm"
# length = "39 mm"

# [tip.base]
# thickness = "3.6 mm"
# separate = false                # true: a part of its own, so that a ring can go in
# conductance = "0.5 W/K"         # to the rest of the nose
# [tip.base.fixing]               # what holds a base of its own on
# thread = "M32x1"                # or screw = "M3" with screws = 4, or rod = "M5" with preload = "500 N"
# engagement = "6 mm"

[sample]
material = "egg white"
# start_temperature = "15 degC"   # of its own, chilled or warmed; the tip's unless given

[sample.slab]
thickness = "3 mm"
# share = 1.0                     # of the circumference
strength = "45 kPa"               # the stress that crushes it, invented: press a piece to breaking and put
                                  # your own in; its material's, on the low side, unless given

# [sample.pocket]
# air = "vented"                  # through a hole (vent = "1.5 mm"); open, or sealed: then it holds pressure

# [sample.joint]
# build = "wetted"                # dry, wetted, sprung, paste or epoxy
# kind = "pressed"                # captive: the hot shell grows away from it; bonded

# [strength]                      # what the tip must bear; these are the defaults
# safety_factor = 1.5
# gust = "10 m/s"                 # across the flight path
# lateral_acceleration = "50 m/s2"
# hand_load = "100 N"             # sideways on the nose point
# snatch = "500 m/s2"             # as the parachute comes out
# flights = 1                     # of this tip in all
# landing_load = "300 N"          # sideways on the nose point; else not covered
# coupler_clearance = "0.1 mm"    # all round, where the base slides into the airframe; else not judged

# [[strength.inside]]             # what sits inside and stands less than the metal
# name = "solder of the wires"
# place = "base"                  # plug, band, base, sample or pocket
# limit = "180 degC"

# [turning]                       # the lathe: 'check' says whether the tip can be turned on it
# nose_radius = "0.4 mm"          # of the tool's edge: no inside corner is tighter
# smallest_bar = "5 mm"           # the thinnest boring bar there is
# largest_stock = "160 mm"        # the thickest round bar that goes in
# stock = "metric"                # or inch: the sizes of round bar
# support = "none"                # core or mandrel: what stands behind the thin wall
# wall_tolerance = "0.05 mm"      # either way

# [vehicle]                       # as it flew, from the nose point: what the tip does to its static margin
# mass = "11 kg"
# centre_of_mass = "1.05 m"
# centre_of_pressure = "1.2 m"
# replaced_mass = "0.2 kg"        # the part of the nose that the tip takes the place of, and its own centre
# replaced_centre_of_mass = "70 mm"

# [limits]
# "margin.smallest" = ">= 0"
# "turning.smallest" = ">= 0"     # what can't be turned is no design

# [sweep]                         # then: optitip sweep {name} --out runs/{name}
# maximise = ["sample.energy_peak", "margin.smallest"]
# minimise = ["shell.mass"]
# evaluations = 2000
# [sweep.free]
# "tip.band.thickness" = ["0.8 mm", "2.5 mm"]
# [sweep.choices]
# "tip.material" = ["6061-T6", "304"]
"""
THRUST = """# an invented motor
time [s],thrust [N]
0,0
0.05,2600
0.5,2750
1.5,2700
2.5,2300
3.0,1500
3.3,0
"""
DRAG = """# an invented vehicle
mach,drag coefficient
0,0.42
0.8,0.42
0.95,0.55
1.1,0.68
1.5,0.58
2,0.48
3,0.38
5,0.32
"""


def command(
    name: Annotated[Path, typer.Argument(help="The folder to make, such as first-tip.")],
) -> None:
    """Write a commented starter study into a new folder."""
    write_starter(name)
    console().print(f"Wrote {name / 'study.toml'}. Next: optitip check {name}", markup=False)


def write_starter(folder: Path) -> None:
    """Write the starter's files; a folder that already holds a study is left alone."""
    study = folder / "study.toml"
    name = folder.resolve().name
    title = "".join(letter for letter in name if letter.isprintable() and letter not in '"\\')
    contents = {"study.toml": STUDY.format(title=title, name=name), "thrust.csv": THRUST, "drag.csv": DRAG}
    try:
        if study.exists():
            raise UserMistakes.one(str(study), "there is a study already", "Name another folder")
        folder.mkdir(parents=True, exist_ok=True)
        for file, text in contents.items():
            (folder / file).write_text(text, encoding="utf-8")
    except OSError as error:
        raise UserMistakes.one(
            str(folder), (error.strerror or str(error)).lower(), "Name a folder you may write in"
        ) from None
