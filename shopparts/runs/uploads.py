"""A workbook brought in by a person: kept, checked, and loaded once they say so."""

from typing import Any

from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from django.utils.text import get_valid_filename

from shopparts.runs.actions import ask_for
from shopparts.runs.kinds import worker_name
from shopparts.runs.models import Run, RunKind
from shopparts.runs.tasks import work_on


def check_upload(upload: "UploadedFile[Any]", *, key: str, by: Any) -> Run:
    """Keep the file under its key and check it: here when it is small, else by a worker."""
    if run := Run.objects.filter(key=key).first():
        return run
    folder = settings.FILES_DIR / key
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    name = get_valid_filename(upload.name or "workbook.xlsx")
    with (folder / name).open("wb") as file:
        for chunk in upload.chunks():
            file.write(chunk)
    given = {"folder": key, "file": name, "name": upload.name, "bytes": upload.size}
    return _asked(RunKind.CHECK, key=key, by=by, given=given)


def load_checked(check: Run, *, key: str, right_rows: bool, by: Any) -> Run:
    """Load the file of a check, all of it or its right rows."""
    given = check.given | {"right_rows": right_rows, "check": check.given.get("check", check.pk)}
    return _asked(RunKind.LOAD, key=key, by=by, given=given)


def _asked(kind: RunKind, *, key: str, by: Any, given: dict[str, Any]) -> Run:
    here = given["bytes"] <= settings.PARSED_HERE_BYTES
    run = ask_for(kind, key=key, by=by, given=given, queued=not here)
    if here:
        work_on(run, worker=f"web {worker_name()}")
    return run
