"""Runs: asked for once, taken once, ended once; cancelled, and found when their worker has died."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.db import connection, transaction
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from shopparts.runs import actions
from shopparts.runs.models import Run, RunKind, RunStatus

pytestmark = pytest.mark.django_db
ME, OTHER = "here 1", "there 2"


def ask(kind=RunKind.BACKUP, key="a"):
    return actions.ask_for(kind, key=key, by=None)


def running(kind=RunKind.BACKUP, *, silent=False, **fields):
    """A run in the hands of a worker; a silent one was last heard of an hour ago."""
    run = ask(kind)
    # As the queue does it, before the worker that takes it dies.
    DBTaskResult.objects.get().claim(ME)
    assert actions.take(run, worker=ME)
    fields |= {"beat_at": timezone.now() - timedelta(hours=1)} if silent else {}
    Run.objects.filter(pk=run.pk).update(**fields or {"worker": ME})
    run.refresh_from_db()
    return run


class TestAskFor:
    def test_a_key_asks_once(self):
        assert ask() == ask()
        assert DBTaskResult.objects.count() == 1


class TestTake:
    def test_one_worker_has_it(self):
        run = ask()
        assert actions.take(run, worker=ME)
        assert not actions.take(run, worker=OTHER)
        assert (run.status, run.worker, run.tries) == (RunStatus.RUNNING, ME, 1)

    def test_none_takes_what_was_cancelled(self):
        run = ask()
        actions.cancel(run)
        assert not actions.take(run, worker=ME)
        assert run.words == "Cancelled before anything was written."


class TestBeat:
    def test_says_how_far_it_is(self):
        run = running()
        actions.beat(run, worker=ME, progress="Parts: 2,000 rows read")
        run.refresh_from_db()
        assert run.progress == "Parts: 2,000 rows read"

    def test_stops_what_was_cancelled(self):
        run = running()
        actions.cancel(run)
        with pytest.raises(actions.CancelledRunError):
            actions.beat(run, worker=ME)

    def test_stops_what_is_no_longer_its_own(self):
        with pytest.raises(actions.CancelledRunError):
            actions.beat(running(), worker=OTHER)


class TestFinish:
    def test_undoes_what_a_worker_thought_dead_has_written(self):
        run = running(silent=True)
        assert actions.reap() == 1

        def write():
            with transaction.atomic():
                ask(key="written by the load")
                actions.finish(run, worker=ME, words="Loaded.")

        with pytest.raises(actions.CancelledRunError):
            write()
        assert not Run.objects.filter(key="written by the load").exists()

    def test_keeps_what_it_says(self):
        run = running()
        actions.finish(run, worker=ME, words="Loaded.", told={"rows": 3})
        run.refresh_from_db()
        assert (run.status, run.words, run.told) == (RunStatus.DONE, "Loaded.", {"rows": 3})
        assert run.ended_at is not None


class TestCancel:
    def test_refuses_what_has_ended(self):
        run = running()
        actions.finish(run, worker=ME, words="Loaded.")
        with pytest.raises(ValidationError) as refused:
            actions.cancel(run)
        assert refused.value.messages == [
            "This has ended already; there is nothing left to cancel."
        ]


class TestReap:
    def test_leaves_alone_who_was_heard_of(self):
        run = running()
        assert actions.reap() == 0
        run.refresh_from_db()
        assert run.status == RunStatus.RUNNING

    def test_a_plan_is_queued_again_once(self):
        run = running(RunKind.PLAN, silent=True)
        assert actions.reap() == 1
        run.refresh_from_db()
        assert run.status == RunStatus.WAITING
        assert sorted(DBTaskResult.objects.values_list("status", flat=True)) == ["FAILED", "READY"]
        assert actions.take(run, worker=OTHER)
        Run.objects.update(beat_at=timezone.now() - timedelta(hours=1))
        assert actions.reap() == 1
        run.refresh_from_db()
        assert run.status == RunStatus.FAILED
        assert run.words == (
            "The worker ended twice while it worked on this. Look at its log, then ask again."
        )
        assert run.log.count("was last heard of at") == 2

    def test_a_load_is_failed_and_says_what_to_do(self):
        run = running(RunKind.LOAD, silent=True)
        assert actions.reap() == 1
        run.refresh_from_db()
        assert run.status == RunStatus.FAILED
        assert run.words == (
            "The worker ended while it loaded this file, and nothing was written. "
            "Load the file again."
        )
        assert actions.reap() == 0

    def test_what_was_cancelled_is_not_tried_again(self):
        run = running(RunKind.PLAN, silent=True, cancel_asked=True)
        assert actions.reap() == 1
        run.refresh_from_db()
        assert run.status == RunStatus.CANCELLED


class TestTidy:
    def test_lets_old_runs_go_with_their_files(self, settings, tmp_path):
        settings.FILES_DIR = tmp_path
        old, new = ask(key="old"), ask(key="new")
        for run in (old, new):
            run.folder.mkdir()
            (run.folder / "names.xlsx").write_text("Ada Fisher")
            actions.cancel(run)
        Run.objects.filter(pk=old.pk).update(asked_at=timezone.now() - timedelta(days=15))
        actions.tidy()
        assert list(Run.objects.all()) == [new]
        assert [path.name for path in tmp_path.iterdir()] == ["new"]


class TestPlacesIn:
    def test_says_where_and_never_whose(self):
        try:
            raise ValueError("the phone 555 0117 is no number")
        except ValueError as fault:
            told = actions.places_in(fault)
        assert "test_actions.py, line" in told
        assert told.endswith("ValueError\n")
        assert "555" not in told


def test_the_clock_is_the_databases():
    """Two hosts whose clocks differ must not take each other for dead."""
    with connection.execute_wrapper(_no_clock_of_ours):
        assert list(Run.objects.silent()) == []


def _no_clock_of_ours(execute, sql, params, many, context):
    year = str(timezone.now().year)
    assert not any(year in str(value) for value in params), params
    return execute(sql, params, many, context)
