"""What comes after the first answer: read-back digit by digit, other conventions, diameters, checks over a shift, other lengths."""

from __future__ import annotations

import datetime
import math

import numpy as np
import pytest
from pydantic import ValidationError

from setwright.base.errors import InputRefused
from setwright.estimate.least_squares import fit
from setwright.model.finding import Signal
from setwright.model.reading import Readings
from setwright.touch.checks import finder_speed
from setwright.touch.conditions import Conditions, conditions_of
from setwright.touch.diameters import tool_radii
from setwright.touch.equations import Equations
from setwright.touch.many import Many, fit_many
from setwright.touch.setting import prepare
from setwright.touch.solution import solve
from setwright.touch.station import Wanted, touch
from tests.touch.simulate import FACES, SCHEMES, world_of
from tests.touch.test_touch_station import NAN, PLACE, bore_contacts, face_contact, top_contact
from tests.touch.workshop import contact, kit_of, machine_of, readings


@pytest.fixture(scope="module")
def result(tmp_path_factory):
    return touch(kit_of(tmp_path_factory.mktemp("job")), readings(*bore_contacts(), top_contact(131.482)))


SHOWN = [
    ("G54 X -300.000", None, "-300.000"), ("g54  x  -300", None, "-300.000"), ("G54 X -0300.0000", None, "-300.0000"),
    ("G54 Y -251.000", 2, "-215.000"), ("G54 X 300.000", 0, "-300.000"), ("G54 X -30.000", 1, "-300.000"),
    ("G54 Z -476.999", 3, "-477.000"), ("length 1 131.483", 6, "131.482"), ("G54 X -300.0001", 8, "-300.0000"),
]  # fmt: skip


@pytest.mark.parametrize(("said", "first", "wanted"), SHOWN)
def test_every_digit_is_compared_and_the_first_different_one_pointed_at(result, said, first, wanted):
    (shown,) = result.read_off([said])
    assert shown.first == first
    assert shown.wanted == wanted
    assert shown.right is (first is None)
    if first is not None:
        one, other, mark = shown.lines()
        place = mark.index("^")
        assert one[place] != other[place]
        assert shown.shown[:first] == shown.wanted[:first]
        (finding,) = result.wrong_digits([shown])
        assert (finding.signal, bool(finding.remedy)) == (Signal.DANGER, True)


@pytest.mark.parametrize("said", ["G57 X 1", "G54 X", "G54 X abc", "G54 X -", "nothing", ""])
def test_what_cannot_be_read_back_is_refused_with_a_remedy(result, said):
    with pytest.raises(InputRefused) as caught:
        result.read_off([said])
    assert all(problem.remedy for problem in caught.value.problems)


def test_lengths_in_every_other_convention_keep_their_sums(result):
    wanted = {"tip on datum": (0.0, -345.518), "reference tool": (-345.518, 0.0), "from gauge line": (-477.0, 131.482)}
    for want, (z, length) in wanted.items():
        offset, lengths = result.lengths_in(want)
        assert (offset, lengths[1]) == (pytest.approx(z, abs=1e-3), pytest.approx(length, abs=1e-3))
    with pytest.raises(InputRefused, match="no convention"):
        result.lengths_in("as it comes")


def diameter(**more):
    return {"setup": "first", "tool": 1, "with": "setter"} | more


def with_diameters(*said):
    return Readings.model_validate({"tool_diameter": list(said)})


def test_diameter_from_two_sides_takes_the_step_back_and_the_width_off(tmp_path):
    kit = kit_of(tmp_path)
    said = diameter(sides=[-100.0, -74.02], across=10.0, last_step=0.02)  # 25.98 + one step - 10
    radius = tool_radii(kit, with_diameters(said))[1]
    assert radius.value == pytest.approx(8.0)
    # half of: two repeats of 0.003, two axis repeats of 0.00075, two steps ± 0.01, backlash ± 0.004, the setter's own 0.002
    squares = 2 * 0.003**2 + 2 * 0.00075**2 + 2 * 0.01**2 / 3 + 0.004**2 / 3 + 0.002**2
    assert radius.standard == pytest.approx(0.5 * math.sqrt(squares))
    twice = tool_radii(kit, with_diameters(said, said))[1]
    shared = 0.25 * (0.004**2 / 3 + 0.002**2)
    assert twice.standard == pytest.approx(math.sqrt((radius.standard**2 - shared) / 2 + shared))


def test_measured_diameter_goes_before_the_preset_and_into_the_register(tmp_path):
    kit = kit_of(tmp_path, radius="diameter")
    read = readings(*bore_contacts(), top_contact(131.482)).model_copy(
        update={"tool_diameter": with_diameters(diameter(shown=15.95)).tool_diameter}
    )
    got = touch(kit, read)
    assert got.as_plain()["tool_radii"]["1"]["value"] == pytest.approx(15.95)
    assert got.truth().radii[1] == pytest.approx(7.975)


def test_a_diameter_noted_for_a_radius_is_noticed(tmp_path):
    got = touch(kit_of(tmp_path, preset1="length = 131.482, radius = 16.0"), readings(*bore_contacts(), top_contact(131.482)))
    assert any(finding.slug == "tool-unlike-kit" and "diameter was noted" in finding.text for finding in got.findings)


def test_diameters_that_cannot_be_are_refused(tmp_path):
    kit = kit_of(tmp_path)
    wrong = (diameter(tool=9, shown=5), "no tool 9"), (diameter(sides=[0.0, 5.0], across=10.0), "gives a diameter of -5.000")
    for said, why in wrong:
        with pytest.raises(InputRefused, match=why):
            tool_radii(kit, with_diameters(said))
    with pytest.raises(ValidationError, match="either shown"):
        with_diameters(diameter())


def test_a_length_read_on_a_face_of_known_height_counts_for_that_face(tmp_path):
    """Tool 2 comes down on the setter on the part's top, at W 1: display = -477 + 1 + 118.25 + 50."""
    read = {"tool": 2, "with": "setter", "on": "top", "display": {"z": -477 + 1 + 118.25 + 50}}
    got = touch(kit_of(tmp_path), readings(*bore_contacts(), top_contact(131.482), lengths=(read,)))
    assert got.as_plain()["tool_lengths"]["2"]["value"] == pytest.approx(118.25, abs=1e-3)
    with pytest.raises(InputRefused, match="does not stand under a tool"):
        touch(kit_of(tmp_path), readings(*bore_contacts(), lengths=(read | {"with": "probe"},)))
    with pytest.raises(InputRefused, match='did you mean "top"'):
        touch(kit_of(tmp_path), readings(*bore_contacts(), lengths=(read | {"on": "topp"},)))


def checks(shift_of, *, count=7):
    """The left face touched at 8 o'clock and checked every half hour, moved by `shift_of` minutes."""
    rng = np.random.default_rng(4)
    made = []
    for i in range(count):
        x = -62 + shift_of(30.0 * i) + (rng.normal(0, 0.001) if i else 0.0)
        when = f"2026-03-02T{8 + i // 2:02d}:{30 * (i % 2):02d}:00"
        made.append(face_contact("left", "+X", (x, 0, NAN)) | {"when": when} | ({"purpose": "check"} if i else {}))
    return made


def test_checks_of_the_datum_say_how_it_drifts_and_do_not_move_it(tmp_path):
    kit = kit_of(tmp_path, x="left")
    slips = touch(kit, readings(*bore_contacts(), *checks(lambda t: 0.0004 * t), top_contact(131.482)))
    still = touch(kit, readings(*bore_contacts(), *checks(lambda t: 0.0), top_contact(131.482)))
    assert slips.solution.value("x") == pytest.approx(still.solution.value("x"), abs=1e-9)
    (drifted,) = slips.drifts
    assert (drifted.axis, drifted.count, drifted.drift.shape) == ("X", 7, "steady drift")
    assert drifted.drift.moved == pytest.approx(0.072, abs=0.01)
    assert any(finding.slug == "datum-drifts" for finding in slips.findings)
    assert [one.drift.shape for one in still.drifts] == ["steady place"]
    assert not any(finding.slug == "datum-drifts" for finding in still.findings)
    assert slips.as_plain()["drift"][0]["minutes_left"] > 0


def test_a_check_without_its_time_is_refused(tmp_path):
    late = face_contact("left", "+X", (-62, 0, NAN)) | {"purpose": "check", "when": datetime.date(2026, 3, 2)}
    with pytest.raises(InputRefused, match="no time of day"):
        touch(kit_of(tmp_path), readings(*bore_contacts(), top_contact(131.482), late))


def test_a_display_switched_to_inches_counts_in_inches(tmp_path):
    inches = [c | {"units": "in", "display": {a: v / 25.4 for a, v in c["display"].items()}} for c in bore_contacts()]
    got = touch(kit_of(tmp_path), readings(*inches, top_contact(131.482)))
    assert got.solution.value("x") == pytest.approx(-300.0, abs=1e-5)
    coarse = {line["source"] for line in got.as_plain()["contributions"]["G54 X"]}
    assert "last digit of the display" in coarse


def test_z_shown_at_an_upright_face_does_not_tilt_the_place(tmp_path):
    """The display's Z there is that of the gauge line, far above the tip: with a tilted part it must not count as the tip's."""
    kit = kit_of(tmp_path)
    tilt = 0.0004
    heights = []
    for x, y in ((-55, -35), (55, -35), (0, 38)):
        px, py, pz = machine_of(PLACE, (x, y, 1.0))
        heights.append(contact("top", "-Z", (px, py, pz + 131.482 + 50 - tilt * x), instrument="setter", tool=1))
    bare = touch(kit, readings(*bore_contacts(), *heights))
    shown = [c | {"display": c["display"] | {"z": -330.0}} for c in bore_contacts()]
    assert touch(kit, readings(*shown, *heights)).solution.value("x") == pytest.approx(bare.solution.value("x"), abs=1e-9)


def test_contacts_on_a_leaning_wall_count_by_their_own_direction(tmp_path):
    """+X met where the wall leans 60 deg: axis and step count by the cosine, tip and form whole."""
    at = 10.0 * np.array([math.cos(math.pi / 3), math.sin(math.pi / 3)])
    lean = contact("bore A", "+X", machine_of(PLACE, (*at, NAN))) | {"last_step": 0.01}
    setting = prepare(kit_of(tmp_path), readings(*bore_contacts(), lean), Conditions())
    noise = {source: d.standard for source, d in setting.rows[-1].noise}
    assert noise["last step of the handwheel"] == pytest.approx(0.5 * 0.005 / math.sqrt(3), rel=1e-3)
    assert noise["repeatability of finder"] == pytest.approx(0.004)
    assert noise["backlash of the axes"] == pytest.approx(0.002 * math.sin(math.pi / 3) / math.sqrt(3), rel=1e-3)


@pytest.mark.parametrize("scheme", SCHEMES)
def test_many_at_once_are_each_as_if_alone(tmp_path, scheme):
    """The Jacobian by central differences to 1e-7, in both forms of the equations, and the same estimates."""
    contacts, datum, *_ = SCHEMES[scheme]
    kit = kit_of(tmp_path, faces=FACES, **datum)
    setting = prepare(kit, readings(*contacts(world_of(scheme, 9))), Conditions())
    first = solve(setting.rows, setting.basis.unknowns)
    equations = Equations.of(list(first.rows), first.unknowns)
    many = Many.of([equations])
    x = first.fit.x
    residuals, jacobian = equations(x)
    together = many(x[None, :])
    np.testing.assert_allclose(together[0][0], residuals, atol=1e-12)
    np.testing.assert_allclose(together[1][0], jacobian, atol=1e-12)
    for j in range(x.size):
        step = np.zeros(x.size)
        levered = first.unknowns.rows[j].name.startswith(("angle", "tilt", "scale", "warmth", "square"))
        step[j] = 1e-6 if levered else 1e-4  # a turn or stretch bends a bore's equation by the cube of its lever
        slope = (equations(x + step)[0] - equations(x - step)[0]) / (2 * step[j])
        np.testing.assert_allclose(jacobian[:, j], slope, atol=1e-7 * max(1.0, float(np.abs(jacobian[:, j]).max())))
    noise, prior = np.array([row.standard for row in first.rows]), first.unknowns.prior
    errors = np.random.default_rng(2).normal(0.0, 1.0, (3, noise.size)) * noise
    got, settled = fit_many(many, x, noise=noise, prior=prior, readings=errors, means=np.zeros((1, x.size)))
    assert settled.all()
    for one, error in zip(got, errors, strict=True):
        alone = fit(lambda at, error=error: (equations(at)[0] + error, equations(at)[1]), x, noise=noise, prior=prior)
        assert (np.abs(one - alone.x) <= 1e-4 * alone.standard).all()


def test_parallel_faces_are_named_as_the_reason(tmp_path):
    sides = (face_contact("left", "+X", (-62, 0, NAN)), face_contact("right", "-X", (62, 0, NAN)))
    with pytest.raises(InputRefused) as caught:
        touch(kit_of(tmp_path, x="left and right", y="fixed jaw"), readings(*sides, top_contact(131.482)))
    assert "the upright faces you touched are parallel (left, right)" in str(caught.value)


def test_a_contact_without_its_direction_says_what_to_write():
    with pytest.raises(ValidationError, match="toward"):
        readings({"on": "left", "with": "finder", "display": {"x": 1.0}})


def test_material_and_stated_surroundings_change_what_is_assumed(tmp_path):
    job = kit_of(tmp_path).folder.job
    job = job.model_copy(update={"job": job.job.model_copy(update={"material": "EN AW-6082 T6"})})
    stated = Readings.model_validate({"surroundings": {"growth": "0.02 mm", "warmth": "6 K"}}).surroundings
    got = conditions_of(job, stated)
    assert (got.growth, got.warmth, got.face_form) == (0.02, 6.0, Conditions().face_form)
    assert got.expansion == pytest.approx(23e-6)


def test_temperature_of_the_part_counts_with_the_distance_from_zero(tmp_path):
    """Left face 62 mm from zero, part within 5 K of 20 °C, steel: ± 62 · 5 · 11.5e-6 mm."""
    kit, warm = kit_of(tmp_path, x="left", y="fixed jaw"), Conditions(warmth=5.0)
    left, jaw = face_contact("left", "+X", (-62, 0, NAN)), face_contact("fixed jaw", "+Y", (0, 42, NAN))
    got = touch(kit, readings(left, jaw, top_contact(131.482)), conditions=warm)
    lines = {line["source"]: line["standard_uncertainty"] for line in got.as_plain()["contributions"]["G54 X"]}
    # counted to where the spindle axis stands, 5 mm beyond the face
    assert lines["temperature of the part"] == pytest.approx(67 * 5 * 11.5e-6 / math.sqrt(3), rel=1e-3)


def test_a_finder_that_the_program_would_overspeed_is_told_to_come_out(tmp_path):
    kit = kit_of(tmp_path)
    kit.folder.sources["p.nc"] = b"G21 G90 G54 (S9999 IN A COMMENT)\nM3 S6000 ; S8888\nM30\n"
    got = touch(kit, readings(*bore_contacts(), top_contact(131.482)))
    said = [finding.text for finding in got.findings if finding.slug == finder_speed.META.slug]
    assert said == ["the program calls 6000 rpm, and the finder is rated 1000 rpm"]


def test_open_numbers_are_left_out_of_the_comparison_by_drawing(tmp_path):
    got = touch(kit_of(tmp_path, x="left"), readings(face_contact("left", "+X", (-62, 0, NAN))), wanted=Wanted.AS_FAR)
    assert set(got.compared()) == {"G54 X", "angle"}
