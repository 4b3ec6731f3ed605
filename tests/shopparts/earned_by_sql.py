"""What every closed job earned, asked of the database in plain SQL.

Shares no code with the project: the price of what somebody paid for, less the cents its parts
took off the shelf (with all that came back to them or was corrected), less labour at cost, plus
what suppliers credited; and a comeback is carried by the job that caused it.
"""

from collections import Counter
from dataclasses import dataclass

from django.db import connection

CLOSED = "SELECT id, key, comeback_of_id, cause FROM jobs_job WHERE closed_at IS NOT NULL"
LINES = """
    SELECT job_id, CASE WHEN payer IN ('us', 'goodwill') THEN 0 ELSE price_cents END
           - labour_cost_cents FROM jobs_jobline"""
PARTS = """
    WITH RECURSIVE away(job_id, movement, cents) AS (
        SELECT line.job_id, m.id, m.cents FROM inventory_movement m
        JOIN (SELECT DISTINCT job_id, posting_id FROM jobs_jobline) line
          ON line.posting_id = m.posting_id
        UNION ALL
        SELECT away.job_id, m.id, m.cents FROM away JOIN inventory_movement m
          ON m.of_id = away.movement)
    SELECT job_id, cents FROM away"""
CREDITS = """
    SELECT j.id, c.credit_cents FROM inventory_claim c JOIN jobs_job j ON j.key = c.job_key
    WHERE c.credit_cents > 0"""
WRITTEN_OFF = """
    SELECT -SUM(m.cents) FROM inventory_movement m JOIN inventory_posting p ON p.id = m.posting_id
    WHERE p.kind IN ('scrapped', 'counted')
      AND p.id NOT IN (SELECT undoes_id FROM inventory_posting WHERE undoes_id IS NOT NULL)"""
CHARGED = {"part_failed", "our_work", "wrong_part"}


@dataclass(frozen=True)
class Earned:
    """Cents by the key of the job: by itself, and after comebacks; and what was written off."""

    jobs: dict[str, int]
    charged: Counter[str]
    written_off: int


def rows(query):
    with connection.cursor() as cursor:
        cursor.execute(query)
        return cursor.fetchall()


def earned_by_sql() -> Earned:
    cents: Counter[int] = Counter()
    for query in (LINES, PARTS, CREDITS):
        for job, amount in rows(query):
            cents[job] += amount
    closed = {pk: (key, cause_of, cause) for pk, key, cause_of, cause in rows(CLOSED)}
    charged = Counter({key: 0 for key, _, _ in closed.values()})
    for pk in closed:
        bearer = pk
        while closed[bearer][2] in CHARGED and closed[bearer][1] in closed:
            bearer = closed[bearer][1]
        charged[closed[bearer][0]] += cents[pk]
    return Earned(
        jobs={key: cents[pk] for pk, (key, _, _) in closed.items()},
        charged=charged,
        written_off=rows(WRITTEN_OFF)[0][0],
    )
