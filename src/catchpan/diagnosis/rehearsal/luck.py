"""Chance that belongs to a call and a question, not to the order in which things are asked.

Two policies that ask the same question in the same home get the same answer, with the same slip
of the tongue and the same error of the instrument: only their choices differ.
"""

from __future__ import annotations

from dataclasses import dataclass
from zlib import crc32

import numpy as np


@dataclass(frozen=True)
class Luck:
    """The random numbers of one call.

    Parameters
    ----------
    seed
        Of the whole rehearsal.
    call
        Number of the call.
    draw
        How many homes were drawn for the call before this one, and did not fit it.
    """

    seed: int
    call: int
    draw: int = 0

    def of(self, what: str, stage: int = 0) -> np.random.Generator:
        """Return the generator for one question or try, the same however often it is asked.

        Parameters
        ----------
        what
            What is asked or tried.
        stage
            How many repairs were tried before it; of a repair, how often it was itself, so that one
            that misses does so for everybody who makes it.
        """
        return np.random.default_rng(
            [self.seed, self.call + 1, self.draw, crc32(what.encode()), stage]
        )
