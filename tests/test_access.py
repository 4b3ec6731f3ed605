"""Every address, as each role and signed out: who may see it, what it never shows or writes.

`FOR` names the least role of every page, by hand: a page that is opened to the wrong people
cannot be right in two places by accident. A new address without an entry fails with its name.

The shop is made once for all of them. Each person walks over all addresses, each visit is taken
back, and a test says at once all that is wrong, a line for each address.
"""

import re
from contextlib import contextmanager

import pytest
from django.db import connection, transaction
from django.test import Client
from django.urls import reverse

from inventory.catalog.names import names
from inventory.shop.roles import Role
from tests.addresses import own_addresses
from tests.one_of_each import COST, COST_CENTS, one_of_each, path_of

pytestmark = pytest.mark.django_db

SIGNED_OUT = "signed out"
FOR = {
    "log_in": SIGNED_OUT,
    "log_out": SIGNED_OUT,
    "first_owner": SIGNED_OUT,
    "today": Role.TECHNICIAN,
    "change_password": Role.TECHNICIAN,
    "switch_site": Role.TECHNICIAN,
    "search": Role.TECHNICIAN,
    "fit": Role.TECHNICIAN,
    "fit_answer": Role.TECHNICIAN,
    "fit_not_listed": Role.TECHNICIAN,
    "fit_give": Role.TECHNICIAN,
    "catalog_gaps": Role.PARTS_MANAGER,
    "application_new": Role.PARTS_MANAGER,
    "application_edit": Role.PARTS_MANAGER,
    "application_copy": Role.PARTS_MANAGER,
    "application_split": Role.PARTS_MANAGER,
    "application_move_split": Role.PARTS_MANAGER,
    "application_merge": Role.PARTS_MANAGER,
    "application_drop": Role.PARTS_MANAGER,
    "fitment_add": Role.PARTS_MANAGER,
    "fitment_drop": Role.PARTS_MANAGER,
    "evidence_settle": Role.PARTS_MANAGER,
    "health": SIGNED_OUT,
    "join": SIGNED_OUT,
    "switch_person": SIGNED_OUT,
    "change_pin": Role.TECHNICIAN,
    "person_list": Role.OWNER,
    "person_detail": Role.OWNER,
    "person_address": Role.OWNER,
    "change_list": Role.OWNER,
    "first_hour": Role.OWNER,
    "first_hour_away": Role.OWNER,
    "shop_settings": Role.OWNER,
    "site_list": Role.PARTS_MANAGER,
    "site_new": Role.OWNER,
    "site_detail": Role.PARTS_MANAGER,
    "site_change": Role.OWNER,
    "bin_add": Role.PARTS_MANAGER,
    "bin_detail": Role.PARTS_MANAGER,
    "bin_drop": Role.PARTS_MANAGER,
    "data": Role.PARTS_MANAGER,
    "data_check": Role.PARTS_MANAGER,
    "data_save": Role.PARTS_MANAGER,
    "data_template": Role.PARTS_MANAGER,
    "data_csv": Role.PARTS_MANAGER,
    "run_detail": Role.PARTS_MANAGER,
    "run_load": Role.PARTS_MANAGER,
    "run_cancel": Role.PARTS_MANAGER,
    "run_file": Role.PARTS_MANAGER,
    "backup_list": Role.OWNER,
    "backup_now": Role.OWNER,
    "inventory:part_detail": Role.TECHNICIAN,
    "inventory:part_new": Role.PARTS_MANAGER,
    "inventory:part_change": Role.PARTS_MANAGER,
    "inventory:part_fits": Role.PARTS_MANAGER,
    "inventory:part_goal": Role.PARTS_MANAGER,
    "inventory:part_supersede": Role.PARTS_MANAGER,
    "inventory:supersession_end": Role.PARTS_MANAGER,
    "inventory:shelf_list": Role.TECHNICIAN,
    "inventory:part_shelf": Role.TECHNICIAN,
    "inventory:part_issue": Role.TECHNICIAN,
    "inventory:part_receive": Role.PARTS_MANAGER,
    "inventory:part_count": Role.TECHNICIAN,
    "inventory:posting_undo": Role.TECHNICIAN,
    "inventory:part_return": Role.TECHNICIAN,
    "inventory:part_scrap": Role.TECHNICIAN,
    "inventory:part_move": Role.TECHNICIAN,
    "inventory:part_send": Role.TECHNICIAN,
    "inventory:part_hold": Role.TECHNICIAN,
    "inventory:part_take_apart": Role.TECHNICIAN,
    "inventory:part_put_together": Role.TECHNICIAN,
    "inventory:transfer_list": Role.TECHNICIAN,
    "inventory:transfer_receive": Role.TECHNICIAN,
    "inventory:transfer_send_back": Role.TECHNICIAN,
    "inventory:transfer_keep": Role.TECHNICIAN,
    "inventory:count_list": Role.TECHNICIAN,
    "inventory:count_start": Role.TECHNICIAN,
    "inventory:count_sheet": Role.TECHNICIAN,
    "inventory:count_enter": Role.TECHNICIAN,
    "inventory:count_settle": Role.TECHNICIAN,
    "inventory:count_close": Role.TECHNICIAN,
    "inventory:scan_issue": Role.TECHNICIAN,
    "inventory:scan_receive": Role.PARTS_MANAGER,
    "inventory:scan_move": Role.TECHNICIAN,
    "inventory:scan_undo": Role.TECHNICIAN,
    "inventory:code_link": Role.PARTS_MANAGER,
    "inventory:shelf_age": Role.TECHNICIAN,
    "inventory:label_print": Role.TECHNICIAN,
    "inventory:hold_list": Role.TECHNICIAN,
    "inventory:hold_call": Role.TECHNICIAN,
    "inventory:hold_issue": Role.TECHNICIAN,
    "inventory:hold_release": Role.PARTS_MANAGER,
    "inventory:plan_detail": Role.PARTS_MANAGER,
    "plan_again": Role.PARTS_MANAGER,
    "inventory:plan_parts": Role.PARTS_MANAGER,
    "inventory:plan_why": Role.PARTS_MANAGER,
    "inventory:plan_goal_set": Role.PARTS_MANAGER,
    "inventory:plan_goal_end": Role.PARTS_MANAGER,
    "jobs:wave_list": Role.PARTS_MANAGER,
    "jobs:part_range": Role.PARTS_MANAGER,
    "inventory:plan_seasons": Role.PARTS_MANAGER,
    "inventory:plan_jobs": Role.PARTS_MANAGER,
    "inventory:plan_assemblies": Role.PARTS_MANAGER,
    "inventory:plan_record": Role.PARTS_MANAGER,
    "inventory:plan_surplus": Role.PARTS_MANAGER,
    "inventory:plan_budget": Role.PARTS_MANAGER,
    "inventory:plan_par": Role.TECHNICIAN,
    "inventory:plan_par_send": Role.TECHNICIAN,
    "inventory:plan_top_up": Role.PARTS_MANAGER,
    "inventory:order_list": Role.PARTS_MANAGER,
    "inventory:order_detail": Role.PARTS_MANAGER,
    "inventory:order_change": Role.PARTS_MANAGER,
    "inventory:order_add": Role.PARTS_MANAGER,
    "inventory:order_send": Role.PARTS_MANAGER,
    "inventory:order_withdraw": Role.PARTS_MANAGER,
    "inventory:order_receive": Role.PARTS_MANAGER,
    "inventory:order_new": Role.PARTS_MANAGER,
    "inventory:order_draft": Role.PARTS_MANAGER,
    "inventory:special_list": Role.PARTS_MANAGER,
    "inventory:delivery_take_back": Role.PARTS_MANAGER,
    "inventory:delivery_price": Role.PARTS_MANAGER,
    "inventory:supplier_list": Role.PARTS_MANAGER,
    "inventory:supplier_new": Role.PARTS_MANAGER,
    "inventory:supplier_detail": Role.PARTS_MANAGER,
    "inventory:supplier_change": Role.PARTS_MANAGER,
    "inventory:offer_new": Role.PARTS_MANAGER,
    "inventory:supplier_send_back": Role.PARTS_MANAGER,
    "inventory:rise_list": Role.PARTS_MANAGER,
    "inventory:rise_order": Role.PARTS_MANAGER,
    "inventory:price_list_new": Role.PARTS_MANAGER,
    "inventory:price_list_detail": Role.PARTS_MANAGER,
    "inventory:price_list_match": Role.PARTS_MANAGER,
    "inventory:price_list_accept": Role.PARTS_MANAGER,
    "inventory:claim_list": Role.PARTS_MANAGER,
    "inventory:claim_new": Role.PARTS_MANAGER,
    "inventory:claim_send": Role.PARTS_MANAGER,
    "inventory:claim_detail": Role.PARTS_MANAGER,
    "inventory:claim_answer": Role.PARTS_MANAGER,
    "inventory:claim_scrap": Role.PARTS_MANAGER,
    "jobs:job_list": Role.TECHNICIAN,
    "jobs:job_detail": Role.TECHNICIAN,
    "jobs:job_card": Role.TECHNICIAN,
    "jobs:job_options": Role.TECHNICIAN,
    "jobs:job_explain_id": Role.TECHNICIAN,
    "jobs:job_confirm_code": Role.TECHNICIAN,
    "jobs:job_break_sensor": Role.TECHNICIAN,
    "jobs:job_plain_valve": Role.TECHNICIAN,
    "jobs:job_relearn": Role.TECHNICIAN,
    "jobs:job_comeback": Role.TECHNICIAN,
    "jobs:lifetime_list": Role.TECHNICIAN,
    "jobs:lot_list": Role.TECHNICIAN,
    "jobs:lot_detail": Role.TECHNICIAN,
    "jobs:advice_record": Role.TECHNICIAN,
    "jobs:job_read": Role.TECHNICIAN,
    "jobs:job_read_file": Role.TECHNICIAN,
    "jobs:job_inspect": Role.TECHNICIAN,
    "jobs:job_do": Role.TECHNICIAN,
    "jobs:job_change_tires": Role.TECHNICIAN,
    "jobs:job_take_back": Role.TECHNICIAN,
    "jobs:job_approve": Role.TECHNICIAN,
    "jobs:job_decline": Role.TECHNICIAN,
    "jobs:job_close": Role.TECHNICIAN,
    "jobs:job_open": Role.TECHNICIAN,
    "jobs:vehicle_detail": Role.TECHNICIAN,
    "jobs:vehicle_mount": Role.TECHNICIAN,
    "jobs:vehicle_change": Role.TECHNICIAN,
    "jobs:keeper_forget": Role.OWNER,
    "jobs:vehicle_new": Role.TECHNICIAN,
    "jobs:job_margin": Role.OWNER,
    "jobs:money": Role.OWNER,
    "jobs:money_jobs": Role.OWNER,
    "jobs:money_comebacks": Role.OWNER,
    "jobs:money_accounts": Role.OWNER,
    "jobs:money_moved": Role.OWNER,
    "jobs:money_prices": Role.OWNER,
    "jobs:money_shelf": Role.OWNER,
}
WRITES = re.compile(r"^\s*(INSERT|UPDATE|DELETE|REPLACE)\b", re.IGNORECASE)
ADDRESSES = own_addresses()
ANSWERS = {200, 302, 404, 405}


@pytest.fixture(scope="module")
def shop(module_database):
    names.forget()
    yield one_of_each()
    names.forget()


@pytest.fixture(scope="module", params=[None, *Role], ids=str)
def role(request):
    return request.param


@contextmanager
def writes_noted():
    """The statements that would change a row, as they come."""
    written = []

    def note(execute, sql, params, many, context):
        if WRITES.match(sql):
            written.append(sql)
        return execute(sql, params, many, context)

    with connection.execute_wrapper(note):
        yield written


def visit(address, shop, role, method):
    """The answer to one person, and what it wrote; both are taken back."""
    client = Client(raise_request_exception=False)
    with transaction.atomic():
        if role is not None:
            client.force_login(shop["people"][role])
        with writes_noted() as written:
            answer = getattr(client, method)(path_of(address, shop))
        transaction.set_rollback(True)
    return answer, written


@pytest.fixture(scope="module")
def read(shop, role):
    """What one person gets at every address, and what that wrote."""
    return {address: visit(address, shop, role, "get") for address in ADDRESSES}


@pytest.fixture(scope="module")
def posted(shop, role):
    names.forget()
    return {address: visit(address, shop, role, "post") for address in ADDRESSES}


def wrongly_answered(address, shop, role, answer):
    """What is wrong with letting this person in, or with keeping him out."""
    needed = FOR.get(address.name)
    if needed is None:
        return "say in FOR who may open it"
    if needed == SIGNED_OUT or (role is not None and role.holds(needed)):
        return answer.status_code not in ANSWERS and f"answers {answer.status_code}"
    if role is None:
        to = answer.headers.get("Location")
        return to != f"/log-in/?next={path_of(address, shop)}" and f"leads to {to}"
    return answer.status_code not in {403, 405} and f"lets in: {answer.status_code}"


def each_wrong(of):
    """A line for every address of which something wrong is said."""
    said = ((address, of(address)) for address in ADDRESSES)
    return "\n".join(f"{address}: {wrong}" for address, wrong in said if wrong)


class TestAccess:
    def test_only_those_it_is_for_read(self, shop, role, read):
        assert not each_wrong(lambda a: wrongly_answered(a, shop, role, read[a][0]))

    def test_only_those_it_is_for_post(self, shop, role, posted):
        assert not each_wrong(lambda a: wrongly_answered(a, shop, role, posted[a][0]))

    def test_reading_never_writes(self, role, read):
        assert not each_wrong(lambda a: read[a][1] and f"reading it runs {read[a][1][0]}")

    def test_what_writes_is_noted(self, shop, posted, role):
        # So that the search above is known to find what it looks for.
        found = {address.name for address in ADDRESSES if posted[address][1]}
        assert ("log_out" in found) == (role is not None)


def costs_shown(text):
    return [cost for cost in (COST, str(COST_CENTS)) if cost in text]


class TestCost:
    def test_a_technician_sees_none(self, shop):
        pages = {a: visit(a, shop, Role.TECHNICIAN, "get")[0].content.decode() for a in ADDRESSES}
        assert not each_wrong(lambda a: costs_shown(pages[a]))

    def test_is_found_where_it_may_be_shown(self, shop):
        # So that the search above is known to find what it looks for.
        client = Client()
        client.force_login(shop["people"][Role.OWNER])
        path = reverse("inventory:part_shelf", args=[shop["parts"]])
        assert COST in client.get(path).content.decode()
