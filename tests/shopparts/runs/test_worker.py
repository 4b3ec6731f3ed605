"""Workers as processes: what they carry out, and what is left when one is killed."""

import os
import random
import signal
import time

import pytest
from django.core.management import call_command

from inventory.catalog.models import Part
from inventory.ledger.audit import audit
from inventory.reorder.models import PlanRun, PlanStatus
from shopparts.runs import actions
from shopparts.runs.kinds import MARKED, WHOLE_SHOP
from shopparts.runs.models import Run, RunKind, RunStatus
from tests.make import make_part, make_site, make_stock, make_user
from tests.shopparts.place import Beside
from tests.shopparts.workbook.book import PARTS_HEAD, small_catalogue, write_book
from tests.soak import soak

KILLS = soak(2, 25)
ROWS = 1_500
SECONDS = 30


@pytest.fixture(autouse=True)
def _folders(settings, tmp_path):
    settings.FILES_DIR = tmp_path / "files"
    settings.BACKUP_DIR = tmp_path / "backups"


def uploaded(folder, **sheets):
    (folder / "files" / "up").mkdir(parents=True, exist_ok=True)
    write_book(folder / "files" / "up" / "book.xlsx", **sheets)
    return {"folder": "up", "file": "book.xlsx"}


def carried_out(kind, given=None, *, by=None, key="a"):
    """The run, after a worker has emptied the queue."""
    run = actions.ask_for(kind, key=key, by=by, given=given)
    call_command("work", "--until-idle")
    run.refresh_from_db()
    return run


@pytest.mark.django_db(transaction=True)
class TestWork:
    def test_a_check_writes_nothing_and_tells_what_it_would(self, tmp_path):
        run = carried_out(RunKind.CHECK, uploaded(tmp_path, **small_catalogue()))
        assert run.words == "All right: it would load 3 rows: 3 new, 0 changed, 0 the same."
        assert not Part.objects.exists()

    def test_a_load_loads(self, tmp_path):
        run = carried_out(RunKind.LOAD, uploaded(tmp_path, **small_catalogue()))
        assert (run.status, run.words) == (
            RunStatus.DONE,
            "Loaded 3 rows: 3 new, 0 changed, 0 the same.",
        )
        assert Part.objects.get().number == "EX-100"

    def test_a_faulty_file_gets_its_marked_copy(self, tmp_path):
        given = uploaded(tmp_path, Parts=[PARTS_HEAD, ["EX-1", "Thing", ""], ["EX-2", "Kit", ""]])
        run = carried_out(RunKind.CHECK, given)
        assert run.words == "Nothing was written: 1 fault in 2 rows."
        assert run.file == run.folder / MARKED
        (group,) = run.told["faults"]
        assert (group["title"], group["lines"][0]["row"], group["lines"][0]["column"]) == (
            "Parts",
            2,
            "Kind",
        )

    def test_the_right_rows_alone(self, tmp_path):
        given = uploaded(tmp_path, Parts=[PARTS_HEAD, ["EX-1", "Thing", ""], ["EX-2", "Kit", ""]])
        run = carried_out(RunKind.LOAD, given | {"right_rows": True})
        assert run.words == "Loaded 2 rows: 1 new, 0 changed, 0 the same, 1 left out."
        assert Part.objects.get().number == "EX-2"

    def test_a_change_is_told_old_and_new(self, tmp_path):
        make_part(number="EX-1", kind="kit", words="old words")
        head = [*PARTS_HEAD, "Description"]
        given = uploaded(tmp_path, Parts=[head, ["EX-1", "Kit", "", "new words"]])
        run = carried_out(RunKind.CHECK, given)
        (group,) = run.told["changes"]
        assert group["lines"] == [
            {
                "record": "EX-1",
                "column": "Description",
                "before": "old words",
                "after": "new words",
            }
        ]

    def test_only_an_owner_makes_an_owner(self, tmp_path):
        manager = make_user("parts_manager", username="ines")
        head = ["Log-in name", "Role"]
        given = uploaded(tmp_path, People=[head, ["ines", "Owner"]])
        run = carried_out(RunKind.LOAD, given, by=manager)
        assert run.status == RunStatus.FAILED
        (group,) = run.told["faults"]
        assert group["lines"][0]["expected"] == (
            "Only an owner adds or changes people; take this row out or ask an owner."
        )
        manager.refresh_from_db()
        assert not manager.is_owner
        run = carried_out(RunKind.LOAD, given, by=make_user("owner"), key="b")
        manager.refresh_from_db()
        assert manager.is_owner

    def test_a_shop_is_saved_planned_and_backed_up(self, tmp_path):
        make_stock(make_part(), make_site(), pieces=3)
        run = carried_out(RunKind.SAVE)
        assert run.file == tmp_path / "files" / "a" / WHOLE_SHOP
        run = carried_out(RunKind.PLAN, key="b")
        assert run.words == PlanRun.objects.finished().get().words
        run = carried_out(RunKind.BACKUP, key="c")
        assert run.words.endswith("bytes, and read back whole.")

    def test_a_fault_of_the_program_is_told_without_names(self, tmp_path):
        run = carried_out(RunKind.CHECK, {"folder": "up"})
        assert run.status == RunStatus.FAILED
        assert run.words == (
            "This ended with a fault of the program, and nothing was written. Try once more."
        )
        assert run.log.endswith("KeyError\n")


@pytest.mark.django_db(transaction=True)
class TestTwoWorkers:
    def test_do_each_thing_once(self, tmp_path):
        make_stock(make_part(), make_site(), pieces=3)
        given = uploaded(tmp_path, **small_catalogue())
        for number in range(3):
            actions.ask_for(RunKind.PLAN, key=f"plan-{number}", by=None)
        actions.ask_for(RunKind.LOAD, key="load", by=None, given=given)
        both = [Beside(tmp_path).start("work", "--until-idle") for _ in range(2)]
        assert [worker.wait(SECONDS * 2) for worker in both] == [0, 0]
        runs = list(Run.objects.all())
        assert [(run.status, run.tries) for run in runs] == [(RunStatus.DONE, 1)] * 4
        assert PlanRun.objects.count() == 3
        assert Run.objects.get(kind=RunKind.LOAD).words == (
            "Loaded 3 rows: 3 new, 0 changed, 0 the same."
        )


@pytest.mark.django_db(transaction=True)
@pytest.mark.soak
class TestKilledWorker:
    """SIGKILL while a file of many parts loads: all of it or nothing, and its run knows which."""

    def wait_for(self, run, *status):
        until = time.monotonic() + SECONDS
        while run.status not in status:
            assert time.monotonic() < until, run.status
            time.sleep(0.02)
            run.refresh_from_db()

    def test_leaves_nothing_half_done(self, tmp_path):
        rows = [[f"EX-{number}", "Kit", ""] for number in range(ROWS)]
        given = uploaded(tmp_path, Parts=[PARTS_HEAD, *rows])
        died = 0
        for kill in range(KILLS):
            run = actions.ask_for(RunKind.LOAD, key=f"load-{kill}", by=None, given=given)
            worker = Beside(tmp_path).start("work")
            self.wait_for(run, RunStatus.RUNNING)
            time.sleep(random.Random(kill + 1).random() * 0.4)
            os.kill(worker.pid, signal.SIGKILL)
            worker.wait()
            Run.objects.filter(status=RunStatus.RUNNING).update(beat_at="2026-01-01T00:00Z")
            actions.reap()
            run.refresh_from_db()
            died += run.status == RunStatus.FAILED
            assert run.words in {actions.LOAD_DIED, loaded(new=ROWS), loaded(new=0)}
            assert Part.objects.count() in {0, ROWS}
            if run.words == loaded(new=ROWS):
                assert Part.objects.count() == ROWS
        assert died > 0
        assert audit() == []
        run = actions.ask_for(RunKind.LOAD, key="next", by=None, given=given)
        call_command("work", "--until-idle")
        run.refresh_from_db()
        assert run.status == RunStatus.DONE
        assert Part.objects.count() == ROWS

    def test_a_plan_completes_with_the_next_worker(self, tmp_path):
        make_stock(make_part(), make_site(), pieces=3)
        run = actions.ask_for(RunKind.PLAN, key="plan", by=None)
        worker = Beside(tmp_path, PLANNER_DEAD_AFTER="1").start("work")
        self.wait_for(run, RunStatus.RUNNING, RunStatus.DONE)
        os.kill(worker.pid, signal.SIGKILL)
        worker.wait()
        if run.status == RunStatus.RUNNING:
            Run.objects.filter(pk=run.pk).update(beat_at="2026-01-01T00:00Z")
        call_command("work", "--until-idle")
        run.refresh_from_db()
        assert run.status == RunStatus.DONE
        assert {plan.status for plan in PlanRun.objects.all()} == {PlanStatus.DONE}


def loaded(*, new):
    return f"Loaded {ROWS:,} rows: {new:,} new, 0 changed, {ROWS - new:,} the same."
