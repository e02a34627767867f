"""Merging: once, whole or not at all, and the careful word stands where two devices disagree."""

import copy as copying
import json
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from reworkkit.errors import ReworkkitError
from reworkkit.model.vocabulary import JointState, Place
from reworkkit.pipeline import job, recall
from reworkkit.record.job_store import JOB_FILE
from tests.record.boards import actor, begin_input, begun_folder
from tests.record.test_job_store import derived, rebuilt

ME = actor()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return begun_folder(tmp_path)


def event(number: int, kind: str, subject: str, detail: dict | None = None, **more: object) -> dict:
    return {
        "seq": number,
        "id": f"phone-{number}",
        "copy": 1,
        "at": "2020-01-01T00:00:00Z",
        "who": "phone",
        "device": "phone",
        "kind": kind,
        "subject": subject,
        "detail": detail or {},
        "undoes": None,
        **more,
    }


def page(folder: Path, *events: dict, **more: object) -> str:
    info = job.open_job(folder)
    document = {
        "format": "reworkkit.page_state/1",
        "board_id": info.board_id,
        "job": info.job_id,
        "copy": 1,
        "plan": "plan-1",
        "device": "phone",
        "at_event": 1,
        "events": list(events),
    }
    return json.dumps(document | more)


def place(folder: Path, ref: str):
    return recall.situation_of_job(folder).states[ref]


def done(number: int, ref: str, kind: str = "solder") -> dict:
    return event(number, "done", ref, {"kind": kind})


def word(number: int, ref: str, facet: str, value: str) -> dict:
    return event(number, "state", ref, {"facet": facet, "value": value})


class TestOnce:
    def test_a_page_is_taken_in_once(self, folder: Path) -> None:
        text = page(folder, done(1, "R1"), done(2, "C1"), word(3, "U1", "joint", "tacked"))
        assert job.merge(folder, text, ME).new == 3
        before = (recall.at_event(folder), derived(folder / JOB_FILE))
        again = job.merge(folder, text, ME)
        assert (again.new, again.known, again.disagreements) == (0, 3, ())
        assert (recall.at_event(folder), derived(folder / JOB_FILE)) == before
        assert place(folder, "R1").steps_done == {"solder"}

    def test_ticks_of_an_older_plan_count(self, folder: Path) -> None:
        merged = job.merge(folder, page(folder, done(1, "R1"), plan="an older one"), ME)
        assert merged.other_plan
        assert place(folder, "R1").joint is JointState.SOLDERED

    def test_copied_text_works_as_well_as_a_file(self, folder: Path, tmp_path: Path) -> None:
        text = page(folder, done(1, "R1"))
        file = tmp_path / "ticks.json"
        file.write_text("\ufeff" + text + "\n", encoding="utf-8")
        assert job.merge(folder, job.state_text(str(file)), ME).new == 1
        assert job.merge(folder, job.state_text(f"  ```\n{text}\n```"), ME).known == 1

    def test_an_export_of_another_machine_is_taken_in(self, folder: Path, tmp_path: Path) -> None:
        other = tmp_path / "other"
        job.begin(other, begin_input(), actor(device="other", start=10_000))
        job.tick(other, ["R1"], actor(device="other"))
        merged = job.merge(folder, json.dumps(recall.export(other)), ME)
        assert merged.new == 1, "what the other machine found and planned is its own"
        assert place(folder, "R1").place is Place.FITTED

    def test_an_undo_may_arrive_before_what_it_undoes(self, folder: Path) -> None:
        job.merge(folder, page(folder, event(2, "undo", "R1", undoes="phone-1")), ME)
        job.merge(folder, page(folder, done(1, "R1")), ME)
        assert place(folder, "R1").place is Place.EMPTY


class TestWholeOrNothing:
    def test_cut_off_anywhere(self, folder: Path) -> None:
        text = page(folder, done(1, "R1"), done(2, "R2"))
        before = recall.at_event(folder)
        for length in range(0, len(text), 7):
            with pytest.raises(ReworkkitError):
                job.merge(folder, text[:length], ME)
        assert recall.at_event(folder) == before

    @pytest.mark.parametrize(
        "broken",
        [
            done(2, "R2", "glue"),
            done(2, "rails", "hold_point"),
            word(2, "R2", "joint", "wobbly"),
            word(2, "R2", "mood", "good"),
            event(2, "reading", "+5V", {"mode": "volts", "form": "value", "value": "5", "unit": "V", "text": "5"}),
            event(2, "reading", "+5V", {"mode": "volts"}),
            event(2, "undo", "R2"),
            event(2, "dance", "R2"),
            event(2, "note", "R2") | {"id": ""},
            event(2, "note", "R2") | {"id": None},
            event(2, "note", "R2") | {"at": "yesterday"},
            event(2, "note", "R2") | {"copy": "1"},
            event(2, "note", "R2") | {"detail": ["x"]},
            "not an event",
        ],
        ids=str,
    )
    def test_one_bad_event_refuses_all(self, folder: Path, broken: dict) -> None:
        before = recall.at_event(folder)
        with pytest.raises(ReworkkitError) as caught:
            job.merge(folder, page(folder, done(1, "R1"), broken), ME)
        assert caught.value.message.slug == "merge-bad-event"
        assert caught.value.message.fact("number") == "2"
        assert recall.at_event(folder) == before

    @pytest.mark.parametrize(
        ("change", "slug"),
        [
            ({"format": "reworkkit.plan/1"}, "merge-other-format"),
            ({"format": None}, "merge-no-format"),
            ({"job": "x", "board_id": "y"}, "merge-other-board"),
            ({"events": None}, "merge-bad-event"),
        ],
    )
    def test_what_is_not_for_this_job(self, folder: Path, change: dict, slug: str) -> None:
        with pytest.raises(ReworkkitError) as caught:
            job.merge(folder, page(folder, done(1, "R1"), **change), ME)
        assert caught.value.message.slug == slug

    def test_what_is_no_json_is_refused_before_the_database_sees_it(self, folder: Path) -> None:
        text = page(folder, event(1, "note", "R2")).replace('"R2"', "NaN")
        with pytest.raises(ReworkkitError) as caught:
            job.merge(folder, text, ME)
        assert caught.value.message.slug == "merge-cut-off"

    def test_a_copy_that_the_job_does_not_have(self, folder: Path) -> None:
        with pytest.raises(ReworkkitError) as caught:
            job.merge(folder, page(folder, done(1, "R1") | {"copy": 2}), ME)
        assert caught.value.message.slug == "merge-other-copy"

    def test_a_page_made_before_the_job_began_is_known_by_its_board(self, folder: Path) -> None:
        assert job.merge(folder, page(folder, done(1, "R1"), job=None), ME).new == 1


def disputes(folder: Path) -> list[tuple[object, object]]:
    items = [item.message for one in recall.status(folder).copies for item in one.open_items]
    return [(m.fact("ref"), m.fact("stands")) for m in items if m.slug == "open-disagreement"]


class TestDisagreement:
    def test_undone_stands_over_done(self, folder: Path) -> None:
        job.tick(folder, ["R1"], ME)
        text = page(folder, done(1, "R1"), event(2, "undo", "R1", undoes="phone-1"))
        assert len(job.merge(folder, text, ME).disagreements) == 1
        assert place(folder, "R1").steps_done == frozenset()
        assert disputes(folder) == [("R1", "undone")]
        # It is settled by doing it.
        job.tick(folder, ["R1"], ME)
        assert disputes(folder) == []
        assert place(folder, "R1").joint is JointState.SOLDERED

    def test_open_stands_over_closed_whichever_came_last(self, folder: Path) -> None:
        job.set_state(folder, "leg lifted", ["R1"], ME)
        job.set_state(folder, "fitted", ["R2"], ME)
        text = page(folder, word(1, "R1", "joint", "soldered"), word(2, "R2", "joint", "tacked"))
        job.merge(folder, text, ME)
        assert place(folder, "R1").joint is JointState.LEG_LIFTED
        assert place(folder, "R2").joint is JointState.TACKED
        assert disputes(folder) == [("R1", "leg lifted"), ("R2", "tacked")]
        job.set_state(folder, "fitted", ["R1", "R2"], ME)
        assert disputes(folder) == []

    def test_what_the_page_knew_is_no_disagreement(self, folder: Path) -> None:
        job.set_state(folder, "tacked", ["R1"], ME)
        text = page(folder, word(1, "R1", "joint", "soldered"), at_event=recall.at_event(folder))
        assert job.merge(folder, text, ME).disagreements == ()
        assert place(folder, "R1").joint is JointState.SOLDERED

    def test_steps_after_one_another_are_no_disagreement(self, folder: Path) -> None:
        job.tick(folder, ["U1"], ME, step="tack")
        assert job.merge(folder, page(folder, done(1, "U1", "tack"), done(2, "U1")), ME).disagreements == ()
        assert place(folder, "U1").joint is JointState.SOLDERED

    def test_agreeing_is_no_disagreement(self, folder: Path) -> None:
        job.tick(folder, ["R1"], ME)
        assert job.merge(folder, page(folder, done(1, "R1")), ME).disagreements == ()
        job.untick(folder, ["R1"], ME)
        assert place(folder, "R1").steps_done == {"solder"}, "the other device's tick still stands"

    def test_clocks_are_never_compared(self, folder: Path) -> None:
        job.set_state(folder, "leg lifted", ["R1"], ME)
        future = word(1, "R1", "joint", "soldered") | {"at": "2099-01-01T00:00:00Z"}
        job.merge(folder, page(folder, future), ME)
        assert place(folder, "R1").joint is JointState.LEG_LIFTED

    @settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
    @given(
        first=st.lists(st.tuples(st.sampled_from(["R1", "U1"]), st.integers(0, 5)), max_size=4),
        second=st.lists(st.tuples(st.sampled_from(["R1", "U1"]), st.integers(0, 5)), max_size=4),
    )
    def test_which_device_comes_first_does_not_matter(self, first, second, tmp_path_factory) -> None:
        base = tmp_path_factory.mktemp("order")
        outcomes = []
        for order in ((first, "a"), (second, "b")), ((second, "b"), (first, "a")):
            folder = begun_folder(base / str(len(outcomes)) / "x")
            for choices, device in order:
                events = [self._said(n, ref, which, device) for n, (ref, which) in enumerate(choices, start=1)]
                job.merge(folder, page(folder, *events, device=device), ME)
            assert derived(folder / JOB_FILE) == rebuilt(folder / JOB_FILE, base / str(len(outcomes)))
            states = recall.situation_of_job(folder).states
            outcomes.append([(states[r].joint, states[r].place) for r in ("R1", "U1")])
        assert outcomes[0] == outcomes[1]

    @staticmethod
    def _said(number: int, ref: str, which: int, device: str) -> dict:
        values = ("tacked", "soldered", "leg_lifted", "none", "soldered", "tacked")
        said = copying.deepcopy(word(number, ref, "joint", values[which]))
        return said | {"id": f"{device}-{number}", "device": device}
