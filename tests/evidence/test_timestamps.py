"""Timestamps of an authority, which openssl plays: asked for, kept, tried again, shown."""

import base64
import shlex
import subprocess
from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command
from django.db import IntegrityError, transaction

from readiness import clock
from readiness.actions import anchoring
from readiness.actions.catching_up import catch_up
from readiness.evidence import checkpoints, timestamps
from readiness.evidence.checkpoints import Reason
from readiness.evidence.record import append
from readiness.models import Timestamp
from readiness.operations import upkeep
from tests.evidence.authority import Authority
from tests.factories import make_applicator


@pytest.fixture(scope="module")
def running(tmp_path_factory):
    authority = Authority(tmp_path_factory.mktemp("authority"))
    yield authority
    authority.close()


@pytest.fixture
def authority(running):
    running.answer, running.status, running.location = None, 200, ""
    running.asked.clear()
    return running


@pytest.fixture
def checkpoint(transactional_db, site, authority, settings):
    settings.READINESS_TIMESTAMP_URL = authority.url
    return another(site)


def another(site):
    with transaction.atomic():
        append(site, None, "levels_changed", {})
    return checkpoints.make(Reason.DAILY)


def test_an_answer_is_held_against_what_was_asked(authority):
    stamp = timestamps.ask(b"content", authority.url)
    assert abs(stamp.at - clock.now()) < timedelta(minutes=5)
    assert authority.vouches_for(stamp.answer, b"content")
    assert not authority.vouches_for(stamp.answer, b"another content")
    assert timestamps.stamped_at(b"content", stamp.answer) == stamp.at
    with pytest.raises(timestamps.NotStamped, match="something else"):
        timestamps.stamped_at(b"another content", stamp.answer)
    authority.answer = stamp.answer  # of the same content, but to an earlier question
    with pytest.raises(timestamps.NotStamped, match="another question"):
        timestamps.ask(b"content", authority.url)


@pytest.mark.parametrize(
    ("answer", "why"),
    [
        (b"no DER", "no timestamp"),
        (b"x" * timestamps.LONGEST_BYTES, "no timestamp"),
        (b"x" * (timestamps.LONGEST_BYTES + 1), "too long"),
    ],
    ids=["no DER", "as long as may be", "too long"],
)
def test_an_answer_of_no_use_is_refused(authority, answer, why):
    authority.answer = answer
    with pytest.raises(timestamps.NotStamped, match=why):
        timestamps.ask(b"content", authority.url)


def test_a_refusal_is_told(authority):
    authority.answer = authority.stamp(b"no question")
    with pytest.raises(timestamps.NotStamped, match="refused"):
        timestamps.ask(b"content", authority.url)


def test_only_the_web_is_asked():
    for url in ("file:///etc/passwd", "ftp://127.0.0.1/", "nonsense"):
        with pytest.raises(timestamps.NotStamped):
            timestamps.ask(b"content", url)


@pytest.mark.parametrize("status", [301, 302, 303, 307, 308])
def test_it_goes_nowhere_else(authority, status):
    authority.status, authority.location = status, authority.url
    with pytest.raises(OSError, match=str(status)):
        timestamps.ask(b"content", authority.url)
    assert len(authority.asked) == 1


def test_the_worker_gets_it_and_openssl_believes_what_was_kept(checkpoint, authority):
    assert Timestamp.objects.get().state == Timestamp.State.WAITING
    catch_up()
    kept = Timestamp.objects.get()
    assert (kept.state, kept.checkpoint) == (Timestamp.State.MADE, checkpoint)
    signed = checkpoints.note_of(checkpoint).signed
    assert authority.vouches_for(base64.b64decode(kept.answer), signed)
    assert kept.stamped_at == timestamps.stamped_at(signed, base64.b64decode(kept.answer))
    catch_up()
    assert len(authority.asked) == 1


def test_the_command_writes_it_for_openssl(checkpoint, authority, tmp_path, capsys):
    target = tmp_path / "answer"
    with pytest.raises(CommandError, match="No authority has stamped a checkpoint yet"):
        call_command("checkpoint", "--timestamp", str(target))
    catch_up()
    call_command("checkpoint", "--timestamp", str(target))
    told = shlex.split(capsys.readouterr().out.splitlines()[-1])
    told[-1] = str(authority.folder / "ca.pem")
    done = subprocess.run(told, capture_output=True, text=True, check=False)
    assert "Verification: OK" in done.stdout
    (tmp_path / "answer.text").write_text("else")
    assert subprocess.run(told, capture_output=True, check=False).returncode == 1


def test_a_kept_one_stays(checkpoint):
    anchoring.ask_timestamp.call(str(checkpoint.pk))
    for change in (
        lambda: Timestamp.objects.update(stamped_at=clock.now()),
        lambda: Timestamp.objects.all()._raw_delete("default"),
    ):
        with pytest.raises(IntegrityError, match="stays"), transaction.atomic():
            change()


def test_an_authority_that_is_down_is_asked_again_and_shown(
    checkpoint, site, authority, client_for
):
    authority.status = 503
    anchoring.ask_timestamp.call(str(checkpoint.pk))
    waiting = Timestamp.objects.get()
    assert (waiting.state, waiting.attempts) == (Timestamp.State.WAITING, 1)
    assert waiting.next_try_at > clock.now()
    (queue,) = (one for one in upkeep.look().queues if one.kind == "timestamps")
    assert (queue.waiting, queue.stumbles) == (1, True)
    page = client_for(make_applicator()).get("/office/status/").content.decode()
    assert "1 timestamp to get" in page
    assert "An attempt failed" in page
    assert another(site).number == 2  # it keeps no checkpoint from being made
    authority.status = 200
    with clock.at(clock.now() + timedelta(minutes=2)):
        catch_up()
    assert {one.state for one in Timestamp.objects.all()} == {Timestamp.State.MADE}


def test_one_that_was_given_up_counts_until_a_later_one_stands_for_it(checkpoint, site, authority):
    authority.answer = b"no DER"
    for _ in range(7):
        Timestamp.objects.filter(state="waiting").update(next_try_at=clock.now())
        anchoring.ask_timestamp.call(str(checkpoint.pk))
    assert Timestamp.objects.get().state == Timestamp.State.GIVEN_UP
    (queue,) = (one for one in upkeep.look().queues if one.kind == "timestamps")
    assert (queue.waiting, queue.failed) == (0, 1)
    authority.answer = None
    another(site)
    catch_up()
    (queue,) = (one for one in upkeep.look().queues if one.kind == "timestamps")
    assert (queue.waiting, queue.failed) == (0, 0)


def test_where_no_authority_is_named_none_is_asked(checkpoint, site, settings):
    settings.READINESS_TIMESTAMP_URL = ""
    anchoring.ask_timestamp.call(str(checkpoint.pk))
    assert Timestamp.objects.get().state == Timestamp.State.GIVEN_UP
    another(site)
    assert Timestamp.objects.count() == 1
    assert "timestamps" not in {one.kind for one in upkeep.look().queues}


@pytest.mark.django_db
def test_the_status_page_names_what_keeps_entries_from_being_signed(site, settings, client_for):
    client = client_for(make_applicator())
    assert "None yet. The portal signs" in client.get("/office/status/").content.decode()
    another(site)
    page = client.get("/office/status/").content.decode()
    assert "1\n" in page and "Record entry signed" in page  # noqa: PT018
    settings.READINESS_SIGNING_KEY = "nonsense"
    with transaction.atomic():
        append(site, None, "levels_changed", {})
    checkpoints.make_quietly(Reason.DAILY)
    assert "the signing key can’t be read" in client.get("/office/status/").content.decode()
