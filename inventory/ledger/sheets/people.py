"""The column that says who did it."""

from functools import partial

from inventory.sheet import Column

BY = partial(Column, "By", "by", to="People", path="by__username", required=False, example="robin")
