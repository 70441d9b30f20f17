"""A study's heating as files: a table for each flow state, and pictures."""

from collections.abc import Sequence
from pathlib import Path

from optitip.evaluate.exposed import Exposed
from optitip.evaluate.heatings import states_of
from optitip.export.heating_tables import write_heating
from optitip.export.pictures.heating_plots import plot_heating_along, plot_heating_in_time, plot_transition
from optitip.inputs.study import Study
from optitip.units import System


def write_heatings(
    shown: Exposed, *, study: Study, states: Sequence[str], folder: Path, system: System = System.METRIC
) -> list[str]:
    """Write the heating in some of its ``states`` into ``folder``, pictures of all, and return the names."""
    tables = [write_heating(shown.heatings[name], title=study.title, folder=folder) for name in states]
    events = events_of(shown)
    pictures = [
        plot_heating_along(shown, folder=folder, title=study.title, system=system),
        plot_heating_in_time(shown, events=events, folder=folder, title=study.title, system=system),
        picture_transition(shown, study=study, folder=folder, system=system),
    ]
    return [path.name for path in [*tables, *pictures] if path is not None]


def picture_transition(
    shown: Exposed, *, study: Study, folder: Path, system: System = System.METRIC
) -> Path | None:
    """Draw where the boundary layer turns; None where no Reynolds number is known of a heating table."""
    return plot_transition(
        shown,
        states=states_of(study.tables.flow),
        events=events_of(shown),
        folder=folder,
        title=study.title,
        system=system,
    )


def events_of(shown: Exposed) -> dict[str, float]:
    """Return the events of the flight that a picture marks."""
    if shown.flight is None:
        return {}
    return {word: time for word, time in shown.flight.events.items() if word != "end"}
