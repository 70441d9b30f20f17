"""An hour of the day, as a person gives it to a command that runs through the night."""

from datetime import datetime, timedelta

from optitip.errors import UserMistakes


def next_hour(text: str, *, now: datetime) -> datetime:
    """Return when the clock next shows ``text``: today if that is still to come, else tomorrow.

    ``now`` is the clock on the wall, without a zone. Raises a mistake for what is no hour.

    >>> night = datetime(2031, 3, 4, 22, 0)
    >>> next_hour("07:00", now=night).isoformat(), next_hour("23:15", now=night).isoformat()
    ('2031-03-05T07:00:00', '2031-03-04T23:15:00')
    """
    try:
        hour = datetime.strptime(text.strip().rjust(5, "0"), "%H:%M")
    except ValueError:
        raise UserMistakes.one("--until", f"'{text}' is no hour", "Write it like 07:00") from None
    then = now.replace(hour=hour.hour, minute=hour.minute, second=0, microsecond=0)
    return then if then > now else then + timedelta(days=1)
