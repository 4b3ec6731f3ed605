"""The fit page and the typo search over 200,000 applications, each against a bare yardstick.

The fit page against a view in the same shell and middleware that reads 20 rows by index; the
search against rapidfuzz alone over the distinct names.
"""

import random
import time
from collections.abc import Iterator, Sequence
from itertools import product
from typing import Any

from tests.bench.row import Row, seconds

APPLICATIONS, MAKES, MODELS, PARTS = 200_000, 100, 80, 3_000
PARTS_EACH, LOADS, QUERIES, FIRST = 3, 200, 60, 20
SEED = 20260309
_HEADS = "Mer Das Ova Hal Var Osk Pel Jor Tre Gan Ska Ulv Ebb Pom Kel Rin Quo Lis Tar Bre"
_MIDDLES = "ow ken ant brun sko eld grin vane mlow trel ndre ery sto mer wick del rel tan"
_TAILS = "a e i o u an el or is um en yx"
Name = tuple[str, str]


def names(rng: random.Random, *, makes: int = MAKES, models: int = MODELS) -> list[Name]:
    """Invented makes, each with its invented models."""
    pieces = (_HEADS.split(), _MIDDLES.split(), _TAILS.split())
    words = ["".join(word) for word in product(*pieces)]
    chosen = rng.sample(words, makes + models * 4)
    stems = chosen[makes:]
    return [(make, model) for make in chosen[:makes] for model in rng.sample(stems, models)]


def with_a_typo(rng: random.Random, name: Name) -> str:
    """The name as it is typed in a hurry: one letter lost, doubled, changed, or two swapped."""
    letters = list(" ".join(name).lower())
    place = rng.choice([p for p in range(1, len(letters) - 1) if " " not in letters[p : p + 2]])
    here, following = letters[place : place + 2]
    other = rng.choice("abcdefghijklmnopqrstuvwxyz".replace(here, ""))
    mistakes = ([following], [here, here, following], [other, following], [following, here])
    letters[place : place + 2] = rng.choice(mistakes)
    return "".join(letters)


def write_catalogue(rng: random.Random, *, applications: int = APPLICATIONS) -> list[Name]:
    """Applications in spans of years, halves of a year and trims, three parts to each."""
    from inventory.catalog.models import Application, Fitment

    named = names(rng)
    parts = _written_parts()
    each = applications // len(named)
    rows = (row for name in named for row in _rows(name, each, rng))
    made = Application.objects.bulk_create(rows, batch_size=2_000)
    Fitment.objects.bulk_create(
        (
            Fitment(application=application, part=part, rank=rank)
            for application in made
            for rank, part in enumerate(rng.sample(parts[application.band], PARTS_EACH), start=1)
        ),
        batch_size=5_000,
    )
    return named


def _written_parts() -> dict[str, list[Any]]:
    from inventory.catalog.models import Part

    bands = ("315", "433")
    parts = [
        Part(
            number=f"PN-{number}",
            number_key=f"PN{number}",
            kind=("assembly", "body", "kit")[number % 3],
            words="made for a test",
            band_315=number % 2 == 0,
            band_433=number % 2 == 1,
        )
        for number in range(PARTS)
    ]
    made = Part.objects.bulk_create(parts)
    return {band: [part for part in made if getattr(part, f"band_{band}")] for band in bands}


def _rows(name: Name, count: int, rng: random.Random) -> Iterator[Any]:
    from inventory.catalog.codes import normalised
    from inventory.catalog.models import Application

    make, model = name
    for number in range(count):
        trim, span = ("", "Cargo", "Tour", "GT", "LX")[number % 5], number // 5
        yield Application(
            key=f"{make}-{model}-{number}",
            make=make,
            model=model,
            year_from=2006 + 4 * span,
            year_to=2009 + 4 * span,
            trim=trim,
            band=rng.choice(("315", "433")),
            mounting=rng.choice(("snap_in", "clamp_in")),
            construction="two_piece",
            placard_front_kpa=230,
            placard_rear_kpa=240,
            search_key=normalised(f"{make}{model}{trim}"),
        )


def fit_page(named: Sequence[Name]) -> Row:
    """Each address once, ours and the bare one in turn, so that a disturbance hits both."""
    from django.test import override_settings

    with override_settings(ROOT_URLCONF="tests.bench.fit_urls", ALLOWED_HOSTS=["testserver"]):
        client = _signed_in()
        rng = random.Random(SEED)
        times: dict[str, list[float]] = {"ours": [], "bare": []}
        for turn in range(-10, LOADS):
            make, model = rng.choice(named)
            asked = {"make": make, "model": model, "year": rng.randrange(2006, 2026)}
            if turn % 2:
                asked |= {"trim": rng.choice(("Cargo", "Tour", "GT")), "mounting": "clamp_in"}
            for name, path in (("ours", "/fit/"), ("bare", "/bare/")):
                took = _load(client, path, asked)
                if turn >= 0:
                    times[name].append(took)
    ours, bare = (_p95(times[name]) for name in ("ours", "bare"))
    return Row(
        work=f"fit page over {APPLICATIONS:,} applications, 95th percentile of {LOADS}",
        against="a bare view of 20 rows in the same shell and middleware",
        ratio=ours / bare,
        goal=3,
        words=f"{ours * 1000:.1f} ms against {bare * 1000:.1f} ms",
    )


def _signed_in() -> Any:
    from django.core.management import call_command
    from django.test import Client

    from inventory.shop.models import Site
    from shopparts.models import User

    call_command("collectstatic", interactive=False, verbosity=0)
    site = Site.objects.create(code="BENCH", name="Bench")
    person = User.objects.create(username="bench", role="technician", home_site=site)
    client = Client()
    client.force_login(person)
    return client


def _load(client: Any, path: str, asked: dict[str, Any]) -> float:
    start = time.perf_counter()
    answer = client.get(path, asked)
    took = time.perf_counter() - start
    if answer.status_code != 200:
        raise AssertionError(f"{path} of {asked} answered {answer.status_code}")
    return took


def _p95(times: Sequence[float]) -> float:
    return sorted(times)[round(len(times) * 0.95) - 1]


def typo_search(named: Sequence[Name]) -> Row:
    from rapidfuzz import fuzz, process

    from inventory.catalog.names import vehicles_named

    rng = random.Random(SEED)
    wanted = rng.sample(named, QUERIES)
    queries = [with_a_typo(rng, name) for name in wanted]
    texts = [" ".join(name).lower() for name in named]
    vehicles_named(queries[0])
    hits = [vehicles_named(query, limit=FIRST) for query in queries]
    found = sum(
        name in {(hit.make, hit.model) for hit in first}
        for name, first in zip(wanted, hits, strict=True)
    )

    def alone() -> None:
        for query in queries:
            process.extract(query, texts, scorer=fuzz.WRatio, limit=FIRST)

    def ours() -> None:
        for query in queries:
            vehicles_named(query, limit=FIRST)

    bare, taken = seconds(alone), seconds(ours)
    return Row(
        work=f"{QUERIES} searches with a typo over {len(texts):,} names of {APPLICATIONS:,} "
        "applications",
        against="rapidfuzz alone over the distinct names",
        ratio=taken / bare,
        goal=1.5,
        words=f"{taken / QUERIES * 1000:.1f} ms against {bare / QUERIES * 1000:.1f} ms each; "
        f"{found} of {QUERIES} found in the first {FIRST}",
    )


def rows() -> Iterator[Row]:
    named = write_catalogue(random.Random(SEED))
    yield fit_page(named)
    yield typo_search(named)
