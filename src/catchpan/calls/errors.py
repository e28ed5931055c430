"""What can go wrong with a call and its trail."""

from typing import ClassVar

from catchpan.units.errors import EXIT_BAD_INPUT, EXIT_CONFLICT, CatchpanError


class EventClashError(CatchpanError):
    """Two different events carry the same id; neither is thrown away."""

    exit_code: ClassVar[int] = EXIT_CONFLICT

    def __init__(self, event_id: str) -> None:
        self.event_id = event_id
        super().__init__(
            f"event {event_id!r} already exists with other contents",
            hint="give each new event an id of its own",
        )


class ForeignEventError(CatchpanError):
    """An event of one call was put into the trail of another."""

    exit_code: ClassVar[int] = EXIT_BAD_INPUT

    def __init__(self, event_id: str, call_id: str, wanted: str) -> None:
        self.event_id, self.call_id, self.wanted = event_id, call_id, wanted
        super().__init__(
            f"event {event_id!r} belongs to call {call_id!r}", hint=f"wanted events of {wanted!r}"
        )


class CallClosedError(CatchpanError):
    """Somebody wanted to go on with a call that is closed."""

    exit_code: ClassVar[int] = EXIT_CONFLICT

    def __init__(self, call_id: str) -> None:
        self.call_id = call_id
        super().__init__(f"call {call_id!r} is closed", hint="undo the closing, or add a note")


class NothingToUndoError(CatchpanError):
    """There is no event of this device left that could be taken back or brought back."""

    exit_code: ClassVar[int] = EXIT_CONFLICT

    def __init__(self, call_id: str, verb: str) -> None:
        self.call_id, self.verb = call_id, verb
        super().__init__(
            f"there is nothing to {verb} in call {call_id!r} on this device",
            hint="withdraw or restore an event of another device by its id",
        )
