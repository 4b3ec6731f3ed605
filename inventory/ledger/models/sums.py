"""A sum of related rows as a column of a query: 0 where there are none."""

from typing import Any

from django.db import models
from django.db.models import Subquery
from django.db.models.functions import Coalesce


def whole(sums: models.QuerySet[Any, Any]) -> Coalesce:
    return Coalesce(Subquery(sums.values("sum")), 0, output_field=models.BigIntegerField())
