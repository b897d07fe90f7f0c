"""A picture as a maker's sheet or a certificate: both its hashes are told, its copy handed out."""

import hashlib
import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from lifts.models import Kit, WrenchCertificate
from shared import clock
from shared.models import Change
from shared.papers import path_of
from tests.lifts.test_kit_pages import UNMARKED, sent_kit
from tests.lifts.test_wrench_pages import NOW, sent_certificate
from tests.wrench_factories import a_good_wrench

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _now(monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)


@pytest.fixture
def boss(client, manager):
    client.force_login(manager)
    return client


def photograph():
    file = io.BytesIO()
    Image.new("RGB", (40, 30), "navy").save(file, "JPEG", comment=b"Findable comment")
    return file.getvalue()


def upload():
    return SimpleUploadedFile("sheet.jpeg", photograph(), "image/jpeg")


def hashes_of(content, folder, sha256):
    assert b"Findable" in path_of(folder, sha256).read_bytes()
    assert b"Findable" not in content
    return sha256, hashlib.sha256(content).hexdigest()


def test_a_kit_tells_both_hashes_of_a_photographed_sheet(boss, site):
    boss.post(reverse("kit-create", args=[site.slug]), sent_kit(sheet_file=upload()))

    kit = Kit.objects.get()
    answer = boss.get(reverse("kit-sheet", args=[site.slug, kit.pk]))
    told = hashes_of(b"".join(answer.streaming_content), "sheets", kit.sheet_sha256)
    value = Change.objects.get(pk=kit.pk).value
    assert told == (value["sheet_sha256"], value["sheet_copy_sha256"])
    assert kit.sheet_copy_sha256 == value["sheet_copy_sha256"]


def test_a_form_that_comes_back_keeps_the_copy_too(boss, site):
    url = reverse("kit-create", args=[site.slug])
    back = boss.post(url, sent_kit(joints=UNMARKED, sheet_file=upload()))
    kept = back.context["form"]["sheet_kept"].value()

    boss.post(url, sent_kit(joints=sent_kit()["joints"], sheet_kept=kept))

    assert Kit.objects.get().sheet_copy_sha256


def test_a_certificate_tells_both_hashes_and_a_pdf_has_but_one(boss, site, manager):
    wrench = a_good_wrench(site, manager)
    url = reverse("wrench-certificate", args=[site.slug, wrench.pk])

    boss.post(url, sent_certificate(file=upload()))

    row = WrenchCertificate.objects.get(number="C-88")
    answer = boss.get(reverse("wrench-file", args=[site.slug, wrench.pk, row.pk]))
    told = hashes_of(b"".join(answer.streaming_content), "certificates", row.file_sha256)
    assert told == (row.file_sha256, row.file_copy_sha256)
    assert WrenchCertificate.objects.exclude(number="C-88").get().file_copy_sha256 is None
