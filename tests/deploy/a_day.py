"""A day of the demo's people by way of pages, jobs and the sweep, in a process of its own."""

import sys
from unittest import mock

from django.contrib.sessions.models import Session
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from deploy.demo import loading
from deploy.demo.places import PASSWORDS, VILLAGE
from fleet.models import Bundle, Cart, ImportRun, Notice, Report
from shared.models import Checkpoint, Entry, PageSeen, Person, SurveyorLink, new_id
from tests.surveying import come_in, link_for

LIFTED = 3
SHEET = b"Cart number,Bay\nNew 1,A1\n"


def begin():
    """Load the demo's places, people and carts, and what befell a few of them."""
    with mock.patch.object(loading, "_plan", plan_a_few):
        call_command("load_demo")


def plan_a_few(story):
    lifted = [cart for cart in story.carts if cart.place is VILLAGE and cart.fitted_day]
    for cart in lifted[:LIFTED]:
        story.plan_lift(cart)


def live():
    """Do what the app's role must be able to do; print how often each thing was done."""
    before = done()
    manager = came_in("manager")
    give_a_sheet(manager)
    report_a_noise(came_in("desk"))
    tag_a_cart(manager)
    let_the_surveyor_look()
    manager.post(of("bundle-create"))
    run_newest(Bundle)
    call_command("sweep", verbosity=0)
    counts = {name: number - before[name] for name, number in done().items()}
    sys.stdout.write(f"{counts}\n")


def done():
    counted = (Session, PageSeen, SurveyorLink, Report, Notice, Checkpoint, Entry)
    jobs = {each.__name__: each.objects.filter(state="done") for each in (Bundle, ImportRun)}
    rows = {each.__name__: each.objects for each in counted} | jobs
    return {name: found.count() for name, found in rows.items()}


def of(name, *args):
    return reverse(name, args=["mirrowmere", *args])


def came_in(role):
    client, email = Client(SERVER_NAME="localhost"), f"{role}@mirrowmere.example"
    said = {"username": email, "password": PASSWORDS[role]}
    assert client.post(reverse("sign-in"), said).status_code == 302
    return client


def run_newest(kind):
    pk = kind.objects.latest("asked_at").pk
    call_command("run_job", "import" if kind is ImportRun else "bundle", str(pk), verbosity=0)


def give_a_sheet(manager):
    sheet = SimpleUploadedFile("carts.csv", SHEET)
    assert manager.post(of("import"), {"sheet": "carts", "file": sheet}).status_code == 302
    run_newest(ImportRun)
    manager.post(of("import-confirm", ImportRun.objects.get().pk))
    run_newest(ImportRun)


def report_a_noise(desk):
    cart = Cart.objects.in_fleet().filter(site__slug="mirrowmere").first()
    said = {"act": str(new_id()), "noticed": "noise"}
    assert desk.post(of("report-create", cart.pk), said).status_code == 302


def tag_a_cart(manager):
    cart = Cart.objects.lifted().filter(site__slug="mirrowmere").first()
    said = {"id": str(new_id()), "reason": "A lug is loose", "is_critical": "yes"}
    assert manager.post(of("tag-create", cart.pk), said).status_code == 302


def let_the_surveyor_look():
    surveyor = Person.objects.get(email="surveyor@brindlewick.example")
    client = Client(SERVER_NAME="localhost")
    come_in(client, *link_for(surveyor, Person.objects.get(email="manager@brindlewick.example")))
    assert client.get(reverse("cart-list", args=["brindlewick"])).status_code == 200
