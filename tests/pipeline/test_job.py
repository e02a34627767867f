"""What can be recorded, what is refused, and what stays open."""

from pathlib import Path

import pytest

from reworkkit.errors import ReworkkitError
from reworkkit.model.job_input import CopyPlan, JobPlace
from reworkkit.model.vocabulary import Basis, EventKind, JointState, PartState, Place, WayRound
from reworkkit.pipeline import job, job_readings, recall
from reworkkit.pipeline.job_readings import Probe
from tests.record.boards import OPERATIONS, PLACES, actor, begin_input, begun_folder, operation

ME = actor()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return begun_folder(tmp_path)


def refused(slug: str, call: object, *args: object, **more: object) -> ReworkkitError:
    with pytest.raises(ReworkkitError) as caught:
        call(*args, **more)  # type: ignore[operator]
    assert caught.value.message.slug == slug
    return caught.value


def state(folder: Path, ref: str):
    return recall.situation_of_job(folder).states[ref]


def open_slugs(folder: Path, copy: int | None = None) -> list[str]:
    return [item.message.slug for one in recall.status(folder, copy).copies for item in one.open_items]


def do_all_before_the_hold_point(folder: Path) -> None:
    job.tick(folder, ["TOP", "R1-R2", "C1", "D1", "U1"], ME, all_steps=True, step=None)


class TestTick:
    def test_the_first_open_step_and_what_remains(self, folder: Path) -> None:
        done = job.tick(folder, ["u1"], ME)
        assert done.ticked[0].kinds == ("tack",)
        assert done.ticked[0].remain == ("solder", "inspect", "program")
        assert state(folder, "U1").joint is JointState.TACKED
        assert state(folder, "U1").place is Place.FITTED

    def test_a_named_step_and_all_steps(self, folder: Path) -> None:
        assert job.tick(folder, ["U1"], ME, step="solder").ticked[0].remain == ("tack", "inspect", "program")
        assert job.tick(folder, ["R1-R2"], ME, all_steps=True).ticked[1].kinds == ("solder", "inspect")
        refused("nothing-left", job.tick, folder, ["R1"], ME)

    def test_next_follows_the_plan_and_stops_at_the_hold_point(self, folder: Path) -> None:
        seen = []
        for _ in range(12):
            seen.append(job.tick_next(folder, ME).ticked[0].subject)
            if len(seen) == 12:
                break
        assert seen[:5] == ["TOP", "R1", "R2", "R1", "R2"]
        refused("next-is-hold-point", job.tick_next, folder, ME)

    def test_tick_untick_tick(self, folder: Path) -> None:
        job.tick(folder, ["R1"], ME)
        job.untick(folder, ["R1"], ME)
        assert state(folder, "R1").place is Place.EMPTY
        refused("nothing-to-untick", job.untick, folder, ["R1"], ME)
        job.tick(folder, ["R1"], ME)
        assert state(folder, "R1").steps_done == {"solder"}
        assert len(recall.history(folder, ["R1"])) == 4

    def test_several_problems_leave_nothing_half_done(self, folder: Path) -> None:
        before = recall.at_event(folder)
        refused("no-step-planned", job.tick, folder, ["R1", "J1"], ME)
        refused("unknown-ref", job.tick, folder, ["R1", "R99"], ME)
        refused("unknown-refs", job.tick, folder, ["R90-R99"], ME)
        refused("several-problems", job.tick, folder, ["J1", "R3"], ME)
        assert recall.at_event(folder) == before

    def test_what_is_unusual_needs_a_reason(self, folder: Path) -> None:
        refused("step-not-planned", job.tick, folder, ["R1"], ME, step="wash")
        refused("anyway-needs-reason", job.tick, folder, ["R1"], ME, step="wash", anyway=True)
        done = job.tick(folder, ["R1"], ME, step="wash", anyway=True, reason="flux everywhere")
        assert done.events[0].detail == {"kind": "wash", "anyway": True, "reason": "flux everywhere"}
        refused("hold-point-derived", job.tick, folder, ["rails"], ME, step="hold_point")
        refused("unknown-step", job.tick, folder, ["R1"], ME, step="glue")

    def test_parts_behind_a_closed_hold_point_need_a_reason(self, folder: Path) -> None:
        refused("behind-hold-point", job.tick, folder, ["Q1"], ME)
        job.tick(folder, ["Q1"], ME, anyway=True, reason="it was fitted last year")
        assert state(folder, "Q1").place is Place.FITTED

    def test_power_without_readings_is_recorded_as_such_and_stays_open(self, folder: Path) -> None:
        done = job.tick(folder, ["U1"], ME, step="program")
        assert done.events[0].detail["without_reading"] == "+5V"
        assert [notice.slug for notice in done.notices] == ["done-without-reading"]
        assert "open-without-reading" in open_slugs(folder)
        job.untick(folder, ["U1"], ME)
        assert "without_reading" in str(recall.export(folder)["events"]), "the record keeps it for ever"

    def test_no_flag_hides_a_missing_reading(self, folder: Path) -> None:
        done = job.tick(folder, ["U1"], ME, step="program", anyway=True, reason="in a hurry")
        assert done.events[0].detail["without_reading"] == "+5V"


class TestHoldPoint:
    def test_it_opens_by_readings_that_are_newer_than_the_parts(self, folder: Path) -> None:
        job_readings.reading(folder, "+5V", "5.01V", ME, probe=Probe(at="rails"))
        job_readings.reading(folder, "+5V", "2k", ME)
        do_all_before_the_hold_point_without_program(folder)
        hold = recall.hold_points_now(folder)[0]
        assert hold.state == "closed"
        assert hold.unread == ("+5V",), "the parts were soldered after those readings"
        job_readings.reading(folder, "+5v", "2k2", ME)
        done = job_readings.reading(folder, "+5V", "5.01V", ME)
        assert [notice.slug for notice in done.notices] == ["reading-at", "reading-inside", "hold-opened"]
        assert recall.hold_points_now(folder)[0].state == "open"
        # The way on: discharge first, and that needs its reading.
        refused("next-needs-reading", job.tick_next, folder, ME)
        job_readings.reading(folder, "+12V", "0.02V", ME)
        assert job.tick_next(folder, ME).ticked[0].kinds == ("discharge",)
        assert job.tick(folder, ["Q1"], ME).ticked[0].remain == ()
        # A change of a part it needs closes it again.
        job.set_state(folder, "leg lifted", ["D1"], ME)
        assert recall.hold_points_now(folder)[0].state == "closed"

    def test_a_reading_outside_keeps_it_closed(self, folder: Path) -> None:
        do_all_before_the_hold_point_without_program(folder)
        job_readings.reading(folder, "+5V", "OL", ME, probe=Probe(mode="ohms"))
        done = job_readings.reading(folder, "+5V", "11.98V", ME)
        assert done.judgements[0].verdict.value == "outside"
        hold = recall.hold_points_now(folder)[0]
        assert (hold.state, hold.outside) == ("closed", ("+5V",))

    @pytest.mark.parametrize(
        ("word", "ref", "slug"),
        [
            ("tacked", "D1", "hold-not-soldered"),
            ("leg lifted", "R2", "hold-leg-lifted"),
            ("missing", "C1", "hold-missing"),
            ("removed", "R2", "hold-unexplained"),
            ("link", "R2", "hold-unexplained"),
            ("burnt", "U1", "hold-not-good"),
            ("wrong value", "R1", "hold-not-good"),
            ("reversed", "D1", "hold-reversed"),
            ("finger-tight", "U1", "hold-finger-tight"),
            ("unknown", "R1", "hold-not-inspected"),
        ],
    )
    def test_the_states_that_forbid_it(self, folder: Path, word: str, ref: str, slug: str) -> None:
        # The words and what they forbid: the table of states of the project's design.
        do_all_before_the_hold_point_without_program(folder)
        job.set_state(folder, word, [ref], ME)
        assert slug in [why.slug for why in recall.hold_points_now(folder)[0].why]

    def test_a_note_explains_what_was_removed(self, folder: Path) -> None:
        job.set_state(folder, "removed", ["R2"], ME)
        job.note(folder, "lent to the other board", ["R2"], ME)
        assert "hold-unexplained" not in [why.slug for why in recall.hold_points_now(folder)[0].why]

    def test_bands_for_another_set_of_parts_are_named(self, folder: Path) -> None:
        do_all_before_the_hold_point_without_program(folder)
        job.set_state(folder, "fitted", ["J1"], ME)
        notice = recall.hold_points_now(folder)[0].notices[0]
        assert (notice.slug, notice.fact("more"), notice.fact("less")) == ("hold-other-set", "J1", "-")

    def test_nothing_to_judge_by_is_passed_by_a_confirmation_after_the_readings(self, tmp_path: Path) -> None:
        folder = begun_folder(tmp_path, hold_points=())
        do_all_before_the_hold_point_without_program(folder)
        assert recall.hold_points_now(folder)[0].state == "closed"
        job_readings.reading(folder, "+5V", "5.0V", ME)
        assert recall.hold_points_now(folder)[0].state == "not_judged"
        refused("behind-hold-point", job.tick, folder, ["Q1"], ME)
        job.confirm(folder, "Rails", "looked at the list by hand", ME)
        assert recall.hold_points_now(folder)[0].passed
        job.tick(folder, ["Q1"], ME)


def do_all_before_the_hold_point_without_program(folder: Path) -> None:
    job.tick(folder, ["TOP", "R1-R2", "C1", "D1"], ME, all_steps=True)
    for _ in range(3):
        job.tick(folder, ["U1"], ME)


class TestStates:
    def test_words_set_facets_and_undo_takes_the_whole_act_back(self, folder: Path) -> None:
        job.set_state(folder, "Leg-Lifted", ["R1-R2"], ME)
        assert state(folder, "R2").joint is JointState.LEG_LIFTED
        job.undo(folder, ME)
        assert state(folder, "R1").place is Place.EMPTY
        assert state(folder, "R2").joint is JointState.NONE
        refused("nothing-to-undo", job.undo, folder, ME)

    def test_unknown_words_and_places_are_refused_with_near_ones(self, folder: Path) -> None:
        error = refused("unknown-state-word", job.set_state, folder, "tackd", ["R1"], ME)
        assert "tacked" in str(error.message.fact("near"))
        refused("unknown-ref", job.set_state, folder, "fitted", ["X9"], ME)
        refused("set-do-not-fit", job.set_state, folder, "fitted", ["R3"], ME)
        job.set_state(folder, "fitted", ["X9", "R3"], ME, anyway=True, reason="both are there")
        found = next(i for i in recall.status(folder).copies[0].open_items if i.message.slug == "open-unexpected")
        assert set(found.refs) == {"X9", "R3"}

    def test_damage_of_the_board_outlives_the_part(self, folder: Path) -> None:
        job.set_state(folder, "land lost", ["R1.2"], ME, reason="came off with the part")
        job.tick(folder, ["R1"], ME, all_steps=True)
        assert recall.situation_of_job(folder).sites[0].point == "R1.2"
        assert "open-land-lost" in open_slugs(folder)

    def test_a_part_that_comes_off_opens_its_steps_again(self, folder: Path) -> None:
        job.tick(folder, ["R1"], ME, all_steps=True)
        job.set_state(folder, "burnt", ["R1"], ME)
        assert state(folder, "R1").steps_done == frozenset()
        assert job.tick(folder, ["R1"], ME).ticked[0].kinds == ("solder",)

    @pytest.mark.parametrize("word", ["removed", "link"])
    def test_a_place_that_is_filled_again_is_no_longer_called_removed(self, folder: Path, word: str) -> None:
        job.set_state(folder, word, ["R2"], ME, reason="lent")
        job.tick(folder, ["R2"], ME)
        assert state(folder, "R2").part is PartState.GOOD
        assert not {"open-removed", "open-link"} & set(open_slugs(folder))
        job.set_state(folder, word, ["R2"], ME, reason="lent again")
        job.set_state(folder, "tacked", ["R2"], ME)
        assert state(folder, "R2").part is PartState.GOOD

    @pytest.mark.parametrize("word", ["missing", "removed"])
    def test_what_was_proven_of_a_part_goes_with_it(self, folder: Path, word: str) -> None:
        # An orientation measured on the old part must never stand for the new one.
        job.tick(folder, ["D1"], ME)
        job_readings.prove(folder, "D1", "0.6V", ME)
        job.set_state(folder, word, ["D1"], ME, reason="shorted")
        job.tick(folder, ["D1"], ME)
        assert state(folder, "D1").way_round is WayRound.NOT_CHECKED
        assert "open-unproven" in open_slugs(folder)

    def test_a_part_found_damaged_is_not_said_to_be_unsoldered(self, folder: Path) -> None:
        job.set_state(folder, "burnt", ["R1"], ME)
        assert "open-damaged" in open_slugs(folder)
        assert "open-placed" not in open_slugs(folder)

    def test_open_items_are_worst_first(self, folder: Path) -> None:
        job.set_state(folder, "tacked", ["R1"], ME)
        job.set_state(folder, "reversed", ["D1"], ME)
        job.set_state(folder, "removed", ["R2"], ME)
        slugs = open_slugs(folder)
        assert slugs[0] == "open-reversed"
        assert {"open-tacked", "open-removed", "open-hold-point"} <= set(slugs)


class TestProof:
    def test_only_a_reading_inside_proves(self, folder: Path) -> None:
        job.tick(folder, ["D1"], ME)
        assert "open-unproven" in open_slugs(folder)
        job_readings.prove(folder, "D1", "OL", ME)
        assert state(folder, "D1").way_round is WayRound.NOT_CHECKED
        done = job_readings.prove(folder, "D1", "OL", ME, swapped=True)
        assert "proof-open-too" in [notice.slug for notice in done.notices]
        assert state(folder, "D1").way_round is WayRound.NOT_CHECKED, "an open joint reads OL both ways"
        job_readings.prove(folder, "D1", "0.6V", ME)
        assert state(folder, "D1").way_round is WayRound.MEASURED
        assert "open-unproven" not in open_slugs(folder)

    def test_a_look_is_seen_and_an_unjudged_reading_proves_nothing(self, folder: Path) -> None:
        job.tick(folder, ["C1"], ME)
        done = job_readings.prove(folder, "C1", "0.5V", ME)
        assert done.notices[0].slug == "proof-not-judged"
        assert state(folder, "C1").way_round is WayRound.NOT_CHECKED
        job_readings.prove(folder, "C1", None, ME, evidence="look")
        assert state(folder, "C1").way_round is WayRound.SEEN
        refused("proof-needs-reading", job_readings.prove, folder, "C1", None, ME)
        refused("not-polarised", job_readings.prove, folder, "R1", "1k", ME)

    def test_a_new_part_is_not_proven_by_the_old_reading(self, folder: Path) -> None:
        job.tick(folder, ["D1"], ME)
        job_readings.prove(folder, "D1", "0.6V", ME)
        job.tick(folder, ["D1"], ME, step="desolder", anyway=True, reason="cracked")
        assert state(folder, "D1").way_round is WayRound.NOT_CHECKED
        assert state(folder, "D1").place is Place.EMPTY


class TestReading:
    @pytest.mark.parametrize(
        ("text", "mode", "form", "value"),
        [
            ("11.98V", "volts", "value", 11.98),
            ("4k7", "ohms", "value", 4700.0),
            ("-11.9V", "volts", "value", -11.9),
            ("rising to 2Mohm", "ohms", "rising", 2e6),
        ],
    )
    def test_what_a_meter_shows(self, folder: Path, text: str, mode: str, form: str, value: float) -> None:
        # What the texts mean: the list of values of the project's design; RKM code per IEC 60062.
        done = job_readings.reading(folder, "-12V", text, ME)
        detail = done.events[0].detail
        assert (detail["mode"], detail["form"], detail["value"]) == (mode, form, value)

    def test_what_has_no_unit_needs_a_mode(self, folder: Path) -> None:
        refused("which-mode", job_readings.reading, folder, "-12V", "OL", ME)
        refused("which-mode", job_readings.reading, folder, "-12V", "jumps", ME)
        refused("unreadable-reading", job_readings.reading, folder, "+5V", "about five", ME)
        refused("reading-unit-mode", job_readings.reading, folder, "+5V", "5V", ME, probe=Probe(mode="ohms"))
        refused("unknown-mode", job_readings.reading, folder, "+5V", "5V", ME, probe=Probe(mode="loud"))
        refused("unknown-point-near", job_readings.reading, folder, "+6V", "5V", ME)
        job_readings.reading(folder, "+6V", "5V", ME, anyway=True, reason="a pad without a name")
        job_readings.reading(folder, "U1.2 to +5V", "jumps", ME, probe=Probe(mode="ohms"))

    def test_a_current_needs_its_unit(self, folder: Path) -> None:
        refused(
            "reading-amps-or-milliamps", job_readings.reading, folder, "supply", "120", ME, probe=Probe(mode="amps")
        )
        job_readings.reading(folder, "supply", "120mA", ME)

    def test_a_pin_that_a_part_does_not_have_is_refused(self, tmp_path: Path) -> None:
        folder = begun_folder(tmp_path, points=("+5V", "U1.1", "U1.2"))
        job_readings.reading(folder, "U1.2", "3V", ME)
        refused("unknown-point-near", job_readings.reading, folder, "U1.9", "3V", ME)
        refused("unknown-point", job_readings.reading, folder, "NONSENSE", "3V", ME)
        job_readings.reading(folder, "R1.1", "3V", ME)

    def test_low_volts_are_taken_with_the_power_off_unless_said(self, folder: Path) -> None:
        assert job_readings.reading(folder, "+12V", "0.3V", ME).events[0].detail["hold_point"] is None
        assert job_readings.reading(folder, "+12V", "12V", ME).events[0].detail["hold_point"] == "rails"
        assert (
            job_readings.reading(folder, "+12V", "9V", ME, probe=Probe(at="off")).events[0].detail["hold_point"] is None
        )
        refused("unknown-hold-point", job_readings.reading, folder, "+12V", "9V", ME, probe=Probe(at="nowhere"))


class TestCopies:
    def test_the_copy_must_be_said_and_faults_are_compared(self, tmp_path: Path) -> None:
        folder = begun_folder(tmp_path, copies=3)
        refused("which-copy", job.tick, folder, ["R1"], ME)
        refused("no-such-copy", job.tick, folder, ["R1"], ME, copy=4)
        for copy in (1, 3):
            job.set_state(folder, "reversed", ["D1"], ME, copy=copy)
        job_readings.reading(folder, "+5V", "5.1V", ME, copy=2)
        status = recall.status(folder)
        assert [one.copy for one in status.copies] == [1, 2, 3]
        assert status.shared[0].message.fact("copies") == "1, 3"
        assert status.copies[1].readings[0].text == "5.1V"
        assert len(recall.next_operations(folder)) == 3

    def test_each_copy_has_its_own_plan_where_they_differ(self, tmp_path: Path) -> None:
        short = (operation(1, "solder", "R1"),)
        plans = (CopyPlan(0, "plan-1", OPERATIONS), CopyPlan(2, "plan-2", short))
        folder = begun_folder(tmp_path, copies=2, plans=plans)
        job.tick(folder, ["R1"], ME, copy=2)
        refused("all-done", job.tick_next, folder, ME, copy=2)
        assert job.tick_next(folder, ME, copy=1).ticked[0].subject == "TOP"


class TestRefresh:
    def test_ticks_that_apply_stay_and_others_are_listed(self, folder: Path) -> None:
        job.tick(folder, ["R1", "R2"], ME, all_steps=True)
        new = begin_input(
            places=(*PLACES[1:], JobPlace("R4", "resistor", "no", "1k", "0805")),
            plans=(CopyPlan(0, "plan-2", (operation(1, "solder", "R2", "R4"), operation(2, "inspect", "R2"))),),
        )
        before = recall.at_event(folder)
        shown = job.refresh(folder, new, ME)
        assert recall.at_event(folder) == before
        assert shown.ticks_kept == 2
        assert shown.ticks_lost == ((1, "solder", "R1"), (1, "inspect", "R1"))
        assert ("solder", "R4") in shown.steps_new
        assert [one.slug for one in shown.places] == ["refresh-place-gone", "refresh-place-new"]
        assert job.refresh(folder, new, ME, accept=True).accepted
        assert not job.refresh(folder, new, ME).changed
        assert job.tick_next(folder, ME).ticked[0].subject == "R4"
        assert [event.kind for event, _ in recall.history(folder, ["R1"])].count(EventKind.DONE) == 2

    def test_a_changed_fitted_list_never_overrules_the_work(self, folder: Path) -> None:
        from dataclasses import replace

        job.tick(folder, ["R1"], ME)
        old = begin_input().found[0]
        changed = tuple(
            replace(one, place=Place.FITTED, part=PartState.DAMAGED) if one.ref in ("R1", "J1") else one
            for one in old.states
        )
        new = begin_input(found=(old._replace(states=changed),))
        assert [one.fact("ref") for one in job.refresh(folder, new, ME).found] == ["J1", "R1"]
        job.refresh(folder, new, ME, accept=True)
        assert state(folder, "R1").part is PartState.GOOD
        assert state(folder, "J1").part is PartState.DAMAGED

    def test_rows_of_readings_count_once(self, folder: Path) -> None:
        taken = recall.situation_of_job(folder)
        assert taken.readings == ()
        from reworkkit.model.measuring import Reading
        from reworkkit.model.vocabulary import Mode, ReadingForm

        row = Reading("+5V", Mode.VOLTS, ReadingForm.VALUE, 5.0, "V", False, None, "5.0V")
        new = begin_input(readings=((0, row), (0, row)))
        for _ in range(2):
            job.refresh(folder, new, ME, accept=True)
        assert len(recall.situation_of_job(folder).readings) == 1


class TestRecord:
    def test_what_goes_with_a_finished_board(self, folder: Path, tmp_path: Path) -> None:
        import hashlib

        photo = tmp_path / "top.jpg"
        photo.write_bytes(b"not really a picture")
        job.tick(folder, ["R1"], actor("bert", "phone"), all_steps=True)
        job.substitute(folder, ["R1"], "4k7 1206", "no 0805 left", ME)
        job_readings.reading(folder, "+5V", "5.02V", ME)
        job.note(folder, "before power", [], ME, photos=[photo])
        record = recall.finished_record(folder)
        place = next(one for one in record.places if one.ref == "R1")
        assert (place.by, place.substitute, place.reason) == (("bert",), "4k7 1206", "no 0805 left")
        assert record.photos[0].sha256 == hashlib.sha256(b"not really a picture").hexdigest()
        assert record.readings[0][1].text == "5.02V"
        assert record.inputs == (("parts rev A.csv", "parts", "aa"),)
        refused("no-photo", job.note, folder, "x", [], ME, photos=[tmp_path / "none.jpg"])

    def test_the_situation_says_what_it_rests_on(self, folder: Path) -> None:
        job.tick(folder, ["R1"], ME)
        situation = recall.situation_of_job(folder)
        assert situation.basis is Basis.JOB
        assert situation.at_event == recall.at_event(folder)
        assert situation.reworked == {"R1"}

    def test_a_pause_is_shown_when_the_work_is_taken_up_again(self, folder: Path) -> None:
        job.set_state(folder, "tacked", ["U1"], ME)
        job.pause(folder, "next: the regulator", ME, iron_off=True)
        pause = recall.status(folder).copies[0].pause
        assert pause is not None
        assert pause.detail["tacked"] == ["U1"]
        job.tick(folder, ["R1"], ME)
        assert recall.status(folder).copies[0].pause is None

    def test_next_fits_the_time(self, folder: Path) -> None:
        # Each operation of the invented board takes 2 minutes.
        assert len(recall.next_operations(folder, minutes=5)[0].operations) == 2
        assert len(recall.next_operations(folder)[0].operations) == 1
        do_all_before_the_hold_point_without_program(folder)
        steps = recall.next_operations(folder, minutes=600)[0]
        assert [row.kind for row in steps.operations] == ["hold_point"], "what lies behind waits for the readings"
