"""Data in and out: workbooks checked and loaded, everything saved, backups, and the long runs."""

import tempfile
from io import BytesIO
from pathlib import Path
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from inventory.shop.roles import Role, holds, role_required
from shopparts.backup import backups
from shopparts.forms import LoadForm, RunForm, SheetForm, UploadForm
from shopparts.runs.actions import ask_for, cancel
from shopparts.runs.models import Run, RunKind, RunStatus
from shopparts.runs.uploads import check_upload, load_checked
from shopparts.workbook.findings import CHANGES_KEPT
from shopparts.workbook.load import units_of_the_shop
from shopparts.workbook.registry import sheets
from shopparts.workbook.writer import write_csv, write_workbook

RUNS_SHOWN = 20
FAILED_SHOWN = 5


@require_safe
@role_required(Role.PARTS_MANAGER)
def data(request: HttpRequest) -> HttpResponse:
    return _data(request, UploadForm())


def _data(request: HttpRequest, form: UploadForm) -> HttpResponse:
    context: dict[str, Any] = {
        "form": form,
        "save_form": RunForm(),
        "sheet_form": SheetForm(),
        "runs": Run.objects.recent()[:RUNS_SHOWN],
    }
    if holds(request.user, Role.OWNER):
        context["newest_backup"] = next(iter(backups()), None)
    return render(request, "data.html", context)


@require_POST
@role_required(Role.PARTS_MANAGER)
def data_check(request: HttpRequest) -> HttpResponse:
    form = UploadForm(request.POST, request.FILES)
    if not form.is_valid():
        return _data(request, form)
    given = form.cleaned_data
    return redirect("run_detail", check_upload(given["file"], key=given["key"], by=request.user).pk)


@require_POST
@role_required(Role.PARTS_MANAGER)
def data_save(request: HttpRequest) -> HttpResponse:
    """Everything in one workbook, written by a worker."""
    return _asked(request, RunKind.SAVE, "data")


@require_POST
@role_required(Role.PARTS_MANAGER)
def data_template(request: HttpRequest) -> HttpResponseBase:
    digits = units_of_the_shop().minor_digits

    def write(path: Path) -> None:
        write_workbook(path, sheets(), minor_digits=digits, template=True)

    return _written("template.xlsx", write)


@require_POST
@role_required(Role.PARTS_MANAGER)
def data_csv(request: HttpRequest) -> HttpResponseBase:
    form = SheetForm(request.POST)
    if not form.is_valid():
        return redirect("data")
    sheet = sheets()[form.cleaned_data["sheet"]]
    digits = units_of_the_shop().minor_digits

    def write(path: Path) -> None:
        write_csv(path, sheet, minor_digits=digits)

    return _written(f"{sheet.title}.csv", write)


def _written(name: str, write: Any) -> FileResponse:
    """A file made now, sent, and gone with the answer."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, name)
        write(path)
        # A template or one sheet is small, and its folder is gone before the answer is sent.
        made = BytesIO(path.read_bytes())
    return FileResponse(made, as_attachment=True, filename=name)


@require_safe
@role_required(Role.PARTS_MANAGER)
def run_detail(request: HttpRequest, pk: int) -> HttpResponse:
    run = get_object_or_404(Run.objects.select_related("by"), pk=pk)
    template = "_run" if request.headers.get("HX-Request") else "run_detail"
    context = {
        "run": run,
        "form": LoadForm(),
        "may_load": _may_load(run),
        "changes_kept": CHANGES_KEPT,
    }
    return render(request, f"{template}.html", context)


def _may_load(run: Run) -> bool:
    """Whether the file of this run waits for somebody to say that it shall be loaded."""
    if run.kind == RunKind.LOAD:
        return run.status in {RunStatus.FAILED, RunStatus.CANCELLED}
    return run.kind == RunKind.CHECK and run.status == RunStatus.DONE and bool(run.told["right"])


@require_POST
@role_required(Role.PARTS_MANAGER)
def run_load(request: HttpRequest, pk: int) -> HttpResponse:
    run, form = get_object_or_404(Run, pk=pk), LoadForm(request.POST)
    if not form.is_valid() or not _may_load(run):
        messages.error(request, "This file is not ready to be loaded; check it again.")
        return redirect("run_detail", run.pk)
    given = form.cleaned_data
    made = load_checked(run, key=given["key"], right_rows=given["right_rows"], by=request.user)
    return redirect("run_detail", made.pk)


@require_POST
@role_required(Role.PARTS_MANAGER)
def run_cancel(request: HttpRequest, pk: int) -> HttpResponse:
    run = get_object_or_404(Run, pk=pk)
    try:
        cancel(run)
    except ValidationError as refusal:
        messages.error(request, refusal.messages[0])
    return redirect("run_detail", run.pk)


@require_POST
@role_required(Role.PARTS_MANAGER)
def run_file(request: HttpRequest, pk: int) -> HttpResponseBase:
    """What a run wrote: the marked copy of a check, the workbook of the whole shop."""
    run = get_object_or_404(Run, pk=pk)
    if run.file is None:
        raise Http404("The file of this run is gone; files are kept for two weeks.")
    return FileResponse(run.file.open("rb"), as_attachment=True, filename=run.file.name)


@require_safe
@role_required(Role.OWNER)
def backup_list(request: HttpRequest) -> HttpResponse:
    found = backups()
    failed = Run.objects.filter(kind=RunKind.BACKUP, status=RunStatus.FAILED).recent()
    if found:
        failed = failed.filter(asked_at__gt=found[0].made_at)
    context = {"backups": found, "failed": failed[:FAILED_SHOWN], "form": RunForm()}
    return render(request, "backup_list.html", context)


@require_POST
@role_required(Role.OWNER)
def backup_now(request: HttpRequest) -> HttpResponse:
    return _asked(request, RunKind.BACKUP, "backup_list")


def _asked(request: HttpRequest, kind: RunKind, otherwise: str) -> HttpResponse:
    form = RunForm(request.POST)
    if not form.is_valid():
        messages.error(request, "This page was out of date; ask once more.")
        return redirect(otherwise)
    run = ask_for(kind, key=form.cleaned_data["key"], by=request.user)
    return redirect("run_detail", run.pk)
