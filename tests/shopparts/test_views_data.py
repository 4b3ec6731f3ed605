"""Data in and out by the web: checked, loaded once, saved; the pages of runs and backups."""

from io import BytesIO

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django_tasks_db.models import DBTaskResult

from inventory.catalog.models import Part
from inventory.shop.roles import Role
from shopparts.backup import make_backup
from shopparts.runs import actions
from shopparts.runs.models import Run, RunKind, RunStatus
from shopparts.workbook.findings import CHANGES_KEPT
from tests.make import make_part, make_user
from tests.shopparts.workbook.book import PARTS_HEAD, small_catalogue, write_book

pytestmark = pytest.mark.django_db
KEY, NEXT = "a" * 24, "b" * 24
FAULTY = {"Parts": [PARTS_HEAD, ["EX-1", "Thing", ""], ["EX-2", "Kit", ""]]}


@pytest.fixture(autouse=True)
def _folders(settings, tmp_path):
    settings.FILES_DIR = tmp_path / "files"
    settings.BACKUP_DIR = tmp_path / "backups"


@pytest.fixture
def manager(client):
    person = make_user(Role.PARTS_MANAGER)
    client.force_login(person)
    return person


@pytest.fixture
def owner(client):
    client.force_login(make_user(Role.OWNER))


def check(client, tmp_path, *, key=KEY, name="book.xlsx", **sheets):
    path = write_book(tmp_path / "book.xlsx", **sheets or small_catalogue())
    file = SimpleUploadedFile(name, path.read_bytes())
    return client.post(reverse("data_check"), {"key": key, "file": file}, follow=True)


def whole(answer):
    return b"".join(answer.streaming_content)


class TestData:
    def test_lists_what_ran_with_a_constant_number_of_queries(self, client, owner):
        counts = []
        for number in (1, 5):
            for more in range(number):
                actions.ask_for(
                    RunKind.PLAN, key=f"{number} {more}", by=make_user(Role.PARTS_MANAGER)
                )
            with CaptureQueriesContext(
                connection,
            ) as queries:
                answer = client.get(reverse("data"))
            counts.append(len(queries))
        assert answer.status_code == 200
        assert len(answer.context["runs"]) == 6
        assert counts[0] == counts[1]

    def test_says_when_the_last_good_backup_was(self, client, owner):
        assert "None yet." in client.get(reverse("data")).content.decode()
        make_backup()
        assert "The last good one:" in client.get(reverse("data")).content.decode()


class TestDataCheck:
    def test_a_right_file_waits_to_be_loaded(self, client, manager, tmp_path):
        text = check(client, tmp_path).content.decode()
        assert "All right: it would load 3 rows: 3 new, 0 changed, 0 the same." in text
        assert "Load it" in text
        assert not Part.objects.exists()

    def test_faults_are_told_by_sheet_row_and_column(self, client, manager, tmp_path):
        text = check(client, tmp_path, **FAULTY).content.decode()
        assert "Nothing was written: 1 fault in 2 rows." in text
        assert '<td class="number" data-label="Row">2</td>' in text
        assert "“Thing” is none of the choices" in text
        assert "Load the 1 right row<" in text

    def test_a_large_file_is_left_to_a_worker(self, client, manager, tmp_path, settings):
        settings.PARSED_HERE_BYTES = 100
        text = check(client, tmp_path).content.decode()
        assert "This waits for a worker" in text
        assert 'hx-trigger="every 2s"' in text
        assert DBTaskResult.objects.count() == 1

    def test_the_same_form_sent_twice_is_checked_once(self, client, manager, tmp_path):
        first, second = check(client, tmp_path), check(client, tmp_path)
        assert first.redirect_chain == second.redirect_chain
        assert Run.objects.count() == 1

    @pytest.mark.parametrize("key", ["../../../../etc/cron.d/x", "a" * 23, "", "A" * 24])
    def test_a_key_of_somebodys_own_making_is_refused(self, client, manager, tmp_path, key):
        answer = check(client, tmp_path, key=key)
        assert answer.context["form"].errors["key"]
        assert not Run.objects.exists()
        assert not (tmp_path / "files").exists()

    def test_a_name_cannot_lead_out_of_the_folder(self, client, manager, tmp_path):
        check(client, tmp_path, name="../../book.xlsx")
        assert [path.name for path in (tmp_path / "files" / KEY).iterdir()] == ["book.xlsx"]

    def test_a_file_that_is_no_workbook_ends_in_a_sentence(self, client, manager):
        file = SimpleUploadedFile("notes.pdf", b"%PDF-1.7")
        answer = client.post(reverse("data_check"), {"key": KEY, "file": file}, follow=True)
        assert "The file “notes.pdf” is neither .xlsx nor .csv" in answer.content.decode()

    def test_without_a_file_the_form_says_so(self, client, manager):
        answer = client.post(reverse("data_check"), {"key": KEY})
        assert "This field is required." in answer.content.decode()


class TestRunLoad:
    def load(self, client, run, **fields):
        path = reverse("run_load", args=[run.pk])
        return client.post(path, {"key": NEXT} | fields, follow=True)

    def test_loads_what_was_checked_once_however_often_it_is_sent(self, client, manager, tmp_path):
        check(client, tmp_path)
        run = Run.objects.get()
        text = self.load(client, run).content.decode()
        assert "Loaded 3 rows: 3 new, 0 changed, 0 the same." in text
        self.load(client, run)
        assert Run.objects.count() == 2
        assert Part.objects.get().number == "EX-100"

    def test_loads_the_right_rows(self, client, manager, tmp_path):
        check(client, tmp_path, **FAULTY)
        text = self.load(client, Run.objects.get(), right_rows="on").content.decode()
        assert "Loaded 2 rows: 1 new, 0 changed, 0 the same, 1 left out." in text
        assert Part.objects.get().number == "EX-2"

    def test_without_that_wish_a_faulty_file_is_not_loaded(self, client, manager, tmp_path):
        check(client, tmp_path, **FAULTY)
        text = self.load(client, Run.objects.get()).content.decode()
        assert "Nothing was written: 1 fault in 2 rows." in text
        assert not Part.objects.exists()

    def test_a_run_that_checked_nothing_is_not_loaded(self, client, manager):
        run = actions.ask_for(RunKind.PLAN, key="plan", by=None)
        text = self.load(client, run).content.decode()
        assert "This file is not ready to be loaded; check it again." in text


class TestRunDetail:
    def test_shows_what_an_update_would_change(self, client, manager, tmp_path):
        make_part(number="EX-1", kind="kit", words="old words")
        head = [*PARTS_HEAD, "Description"]
        text = check(
            client, tmp_path, Parts=[head, ["EX-1", "Kit", "", "new words"]]
        ).content.decode()
        assert "Parts: what would change" in text
        assert ">old words</td>" in text
        assert ">new words</td>" in text

    def test_says_that_more_would_change_than_it_lists(self, client, manager, tmp_path):
        for number in range(CHANGES_KEPT + 1):
            make_part(number=f"EX-{number}", kind="kit", words="old")
        head = [*PARTS_HEAD, "Description"]
        rows = [[f"EX-{number}", "Kit", "", "new"] for number in range(CHANGES_KEPT + 1)]
        text = check(client, tmp_path, Parts=[head, *rows]).content.decode()
        assert "The first 200 changes of this sheet; there are more." in text
        assert text.count('data-label="New">new<') == CHANGES_KEPT

    def test_asks_for_a_part_of_the_page_until_it_has_ended(self, client, manager):
        run = actions.ask_for(RunKind.PLAN, key="plan", by=None)
        path = reverse("run_detail", args=[run.pk])
        part = client.get(path, headers={"HX-Request": "true"}).content.decode()
        assert "<html" not in part
        assert "every 2s" in part
        actions.cancel(run)
        assert "every 2s" not in client.get(path).content.decode()


class TestRunCancel:
    def test_stops_what_waits(self, client, manager):
        run = actions.ask_for(RunKind.PLAN, key="plan", by=None)
        client.post(reverse("run_cancel", args=[run.pk]))
        run.refresh_from_db()
        assert run.status == RunStatus.CANCELLED

    def test_what_has_ended_says_so(self, client, manager):
        run = actions.ask_for(RunKind.PLAN, key="plan", by=None)
        actions.cancel(run)
        text = client.post(reverse("run_cancel", args=[run.pk]), follow=True).content.decode()
        assert "This has ended already; there is nothing left to cancel." in text


class TestRunFile:
    def test_the_marked_copy_has_its_cell_filled_and_a_comment(self, client, manager, tmp_path):
        check(client, tmp_path, **FAULTY)
        answer = client.post(reverse("run_file", args=[Run.objects.get().pk]))
        cell = openpyxl.load_workbook(BytesIO(whole(answer)))["Parts"]["B2"]
        assert cell.value == "Thing"
        assert cell.comment.text.startswith("“Thing” is none of the choices")

    def test_a_file_that_is_gone_is_not_found(self, client, manager):
        run = actions.ask_for(RunKind.PLAN, key="plan", by=None)
        assert client.post(reverse("run_file", args=[run.pk])).status_code == 404


class TestDataSave:
    @pytest.mark.django_db(transaction=True)
    def test_a_worker_writes_the_shop_and_it_loads_as_the_same(self, client, tmp_path):
        client.force_login(make_user(Role.OWNER))
        make_part(number="EX-7")
        client.post(reverse("data_save"), {"key": KEY})
        call_command("work", "--until-idle")
        run = Run.objects.get()
        answer = client.post(reverse("run_file", args=[run.pk]))
        book = tmp_path / "shop.xlsx"
        book.write_bytes(whole(answer))
        assert openpyxl.load_workbook(book)["Parts"]["A5"].value == "EX-7"


class TestDataTemplate:
    def test_has_every_sheet_and_no_record(self, client, manager):
        make_part(number="EX-7")
        book = openpyxl.load_workbook(BytesIO(whole(client.post(reverse("data_template")))))
        assert book["Parts"]["A5"].value is None
        assert book["Parts"]["A4"].value == "Number"


class TestDataCsv:
    def test_one_sheet_with_its_formulas_neutralised(self, client, manager):
        make_part(number="EX-7", words="=1+1")
        answer = client.post(reverse("data_csv"), {"sheet": "Parts"})
        assert answer.headers["Content-Disposition"] == 'attachment; filename="Parts.csv"'
        assert "EX-7,Sensor assembly,,'=1+1," in whole(answer).decode()

    def test_an_unknown_sheet_leads_back(self, client, manager):
        answer = client.post(reverse("data_csv"), {"sheet": "Stuff"})
        assert answer.headers["Location"] == reverse("data")


class TestBackupList:
    def test_says_when_the_last_good_one_was(self, client, owner):
        assert "There is no backup yet" in client.get(reverse("backup_list")).content.decode()
        made = make_backup()
        text = client.get(reverse("backup_list")).content.decode()
        assert f"The last good backup is from {made.made_at:%Y-%m-%d %H:%M}" in text
        assert made.path.name in text

    def test_says_what_went_wrong_since(self, client, owner):
        run = actions.ask_for(RunKind.BACKUP, key="b", by=None)
        Run.objects.filter(pk=run.pk).update(status=RunStatus.FAILED, words="The disk is full.")
        assert "The disk is full." in client.get(reverse("backup_list")).content.decode()


class TestBackupNow:
    def test_asks_a_worker_once(self, client, owner):
        for _ in range(2):
            answer = client.post(reverse("backup_now"), {"key": KEY})
        run = Run.objects.get(kind=RunKind.BACKUP)
        assert answer.headers["Location"] == reverse("run_detail", args=[run.pk])

    def test_an_old_page_is_told_so(self, client, owner):
        text = client.post(reverse("backup_now"), follow=True).content.decode()
        assert "This page was out of date; ask once more." in text
