"""The actions open on a wheel, and which of its parts each one makes new."""

from enum import StrEnum

import numpy as np


class Action(StrEnum):
    LEAVE = "leave"
    RESEAL = "reseal"
    BODY = "body"
    STEM = "stem"
    ASSEMBLY = "assembly"


ACTIONS = tuple(Action)
PARTS = ("body", "stem", "seal")

# Rows as ACTIONS, columns as PARTS. Whatever opens the wheel makes its seal new.
MAKES_NEW = np.array(
    [
        [False, False, False],
        [False, False, True],
        [True, False, True],
        [False, True, True],
        [True, True, True],
    ]
)
MAKES_NEW.setflags(write=False)
