"""How much, how slowly and how often: the figures of the door, each with its reason."""

from __future__ import annotations

from dataclasses import dataclass

from app.kernel.sizes import KILOBYTE, MEGABYTE

DRAINED_BODY = 1024 * MEGABYTE  # read to its end and dropped: a browser shows an answer only once it has sent everything
DRAINED_UNKNOWN = 80 * MEGABYTE  # the same, of somebody who never signed in here
IN_MEMORY = 256 * KILOBYTE  # of one body; what is more lies in a file without a name until it is answered

BODIES_EACH = 12  # forms on their way at once from one address; a browser opens six connections
BODIES_ALL = 1000
ANSWERS_EACH = 10  # requests at work at once for one address, so that the others of the 16 threads are left to the rest
WAITING_EACH = 120  # requests that wait for their turn, from one address
TURN_SECONDS = 10.0  # how long a form waits until others of its address have arrived

HEADER_SECONDS = 10.0  # from a connection's first moment, or the last answer on it, to the end of the next request's head
READER_SECONDS = 30.0  # for each piece of a long answer to be taken
PIECE = 256 * KILOBYTE  # of a long answer, in one go
CONNECTIONS_EACH = 64  # open at once from one address; more are ended, the oldest first


@dataclass(frozen=True)
class Pace:
    """How slowly a body may come: in `grace` seconds, and one more for every `least` bytes that are here; `longest` at most."""

    grace: float = 10.0
    least: int = 4 * KILOBYTE
    longest: float = 1800.0

    def until(self, here: int) -> float:
        """Seconds after its begin by which more must have come, with so many bytes here."""
        return min(self.grace + here / self.least, self.longest)
