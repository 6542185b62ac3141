"""Decisions on example finds: units and axes settled or asked, profiles and masses, what a scan leaves open."""

import math
from pathlib import Path

import numpy as np
import pytest
import trimesh

from findhold.errors import BadInput, Mistakes
from findhold.lift.measured.block import Known
from findhold.lift.measured.scan import ScanReading, measure_scan
from findhold.lift.measured.tape import TapeReading, measure_tape
from findhold.service.packing.measuring import read_profile, read_size

JAR = Known(find="find 37", material="low-fired ceramic", state="damp", soil="silty clay loam", mass_kg=12.2)
ROWS = ((0.0, 180.0, 160.0), (60.0, 230.0, 210.0), (140.0, 150.0, 140.0))


def tape(size=(230.0, 210.0, 140.0), known=JAR, rows=(), section=None):
    return measure_tape(TapeReading(size_mm=size, profile_mm=rows, section=section), known)


def asked(call, *args, **named):
    with pytest.raises(Mistakes) as caught:
        call(*args, **named)
    (question,) = caught.value.questions
    assert caught.value.answerable
    return question


# --- by tape -----------------------------------------------------------------------------------------------------


def test_three_sizes_and_a_mass_are_a_block_without_volume():
    block = tape()
    assert (block.size_mm, block.mass_kg, block.how) == ((230.0, 210.0, 140.0), 12.2, "tape")
    assert (block.volume_l, block.cog_mm, block.profile_mm, block.side_outline_mm) == (None, None, (), ())
    assert block.questions == ()


def test_a_profile_gives_volume_centre_and_what_another_form_would_hold():
    block = tape(rows=ROWS)
    # Simpson on each slice, exact: h/6 (A0 + 4 Am + A1) of the rectangles, a quarter of pi of it for ellipses.
    full = 60 / 6 * (180 * 160 + 4 * 205 * 185 + 230 * 210) + 80 / 6 * (230 * 210 + 4 * 190 * 175 + 150 * 140)
    assert block.volume_l == pytest.approx(full * math.pi / 4e6)
    assert (block.volume_low_l, block.volume_high_l) == pytest.approx((full * math.pi / 4e6, full / 1e6))
    assert block.cog_mm[:2] == (115.0, 105.0)
    assert 60 < block.cog_mm[2] < 75
    assert any("Nobody said what form" in remark for remark in block.remarks)
    said = tape(rows=ROWS, section="rectangle")
    assert said.volume_l == said.volume_low_l == said.volume_high_l == pytest.approx(full / 1e6)


def test_a_profile_alone_gives_the_sizes():
    assert tape(size=None, rows=ROWS).size_mm == (230.0, 210.0, 140.0)


def test_a_block_that_was_not_weighed_gets_a_band_by_its_soil():
    block = tape(rows=ROWS, known=Known(find="find 37", state="damp", soil="silt"))
    # Source: unit weight of silt, 11.5 above the water table to 20.5 kN/m3 below it, over g.
    low, high = 11.5e3 / 9.80665, 20.5e3 / 9.80665
    assert block.mass_kg is None
    assert block.mass_band.low_kg == pytest.approx(low * block.volume_low_l / 1e3)
    assert block.mass_band.best_kg == pytest.approx((low + high) / 2 * block.volume_l / 1e3)
    assert block.mass_band.high_kg == pytest.approx(high * block.volume_high_l / 1e3)
    assert any("Weigh it" in remark for remark in block.remarks)


@pytest.mark.parametrize(
    ("size", "unit"),
    [((2.3, 2.1, 1.4), "dm"), ((0.23, 0.21, 0.14), "m"), ((23.0, 21.0, 14.0), "cm")],
)
def test_sizes_typed_in_another_unit_are_asked_about_and_taken_as_answered(size, unit):
    question = asked(tape, size)
    assert question.about == "units"
    assert question.choices[0] == f"sizes in {unit}"
    assert "230 x 210 x 140 mm" in question.text
    block = tape(size, known=Known(**{**known_of(JAR), "answers": {"units": f"sizes in {unit}"}}))
    assert block.size_mm == pytest.approx((230.0, 210.0, 140.0))
    assert any(f"Taken as sizes in {unit}, as answered" in remark for remark in block.remarks)


def known_of(known):
    names = ("find", "material", "state", "soil", "mass_kg")
    return {name: getattr(known, name) for name in names}


def test_sizes_without_a_mass_are_asked_about_when_a_block_would_be_thin():
    known = Known(find="find 37", state="damp", soil="loam")
    assert "thin for a block of soil" in asked(tape, (2.3, 2.1, 1.4), known).text
    assert asked(tape, (0.23, 0.21, 0.14), Known(find="find 45", material="copper alloy")).about == "units"
    pin = tape((62.0, 3.0, 3.0), Known(find="find 45", material="copper alloy", mass_kg=0.0024))
    assert pin.questions == ()


def test_as_typed_is_an_answer_and_is_said():
    known = Known(find="find 52", state="damp", soil="loam", answers={"units": "as typed"})
    block = tape((40.0, 30.0, 15.0), known)
    assert block.size_mm == (40.0, 30.0, 15.0)
    assert any("confirmed as typed" in remark for remark in block.remarks)


def test_an_answer_that_is_no_choice_asks_again():
    question = asked(tape, (23.0, 21.0, 14.0), Known(**{**known_of(JAR), "answers": {"units": "furlongs"}}))
    assert "furlongs" in question.text


@pytest.mark.parametrize(("mass_kg", "choice", "right"), [(12200.0, "mass in g", 12.2), (0.0122, "mass in t", 12.2)])
def test_a_mass_in_another_unit_and_a_block_lighter_than_air_are_asked_about(mass_kg, choice, right):
    known = {**known_of(JAR), "mass_kg": mass_kg}
    question = asked(tape, (230.0, 210.0, 140.0), Known(**known))
    assert ("more than any metal" if mass_kg > 1 else "hardly more than air") in question.text
    assert choice in question.choices
    block = tape(known=Known(**known, answers={"units": choice}))
    assert block.mass_kg == pytest.approx(right)


@pytest.mark.parametrize(
    ("mass_kg", "words"), [(5.0, "lighter than damp silty clay loam"), (20.0, "heavier than damp silty clay loam")]
)
def test_a_density_that_soil_cannot_have_is_a_question_and_no_error(mass_kg, words):
    (question,) = tape(known=Known(**{**known_of(JAR), "mass_kg": mass_kg})).questions
    assert words in question.text
    assert question.about == "mass_kg"


def test_without_soil_or_material_900_to_2300_kg_per_m3_pass():
    # Source: sanity rule of the reference sheet on packing: outside 900-2300 kg/m3 ask.
    for density, many in ((850, 1), (950, 0), (2250, 0), (2400, 1)):
        block = tape((100.0, 100.0, 100.0), Known(find="block", mass_kg=density / 1000))
        assert len(block.questions) == many


@pytest.mark.parametrize(
    ("size", "words"),
    [
        ((0.0, 210.0, 140.0), ["length"]),
        ((-230.0, 210.0, -140.0), ["length", "height"]),
        ((float("nan"), 210.0, 140.0), ["length"]),
        ((float("inf"), 210.0, 140.0), ["length"]),
        ((6000.0, 210.0, 140.0), ["length"]),
    ],
)
def test_sizes_that_cannot_be_are_all_listed(size, words):
    with pytest.raises(Mistakes) as caught:
        tape(size, Known(find="find 37"))
    assert [mistake.column for mistake in caught.value.mistakes] == words


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        (((0, 180, 160),), "two heights or more"),
        (((10, 180, 160), (140, 150, 140)), "must begin at the base"),
        (((0, 180, 160), (60, 230, 210), (50, 100, 90), (140, 150, 140)), "do not rise"),
        (((0, 180, 160), (140, 240, 140)), "more than 230 x 210 over all"),
        (((0, 180, 160), (160, 150, 140)), "the height over all is 140"),
        (((0, 180, 160), (140, 0, 140)), "zero or negative"),
        (((0, 180, 160), (140, -5, 140)), "zero or negative"),
        (((0, 180, float("nan")), (140, 150, 140)), "no number"),
    ],
)
def test_profiles_that_do_not_fit_are_refused(rows, words):
    with pytest.raises(Mistakes) as caught:
        tape(rows=rows)
    assert any(words in mistake.wrong for mistake in caught.value.mistakes)


@pytest.mark.parametrize("mass_kg", [0.0, -1.0, float("nan")])
def test_a_mass_that_cannot_be_is_refused(mass_kg):
    with pytest.raises(Mistakes):
        tape(known=Known(**{**known_of(JAR), "mass_kg": mass_kg}))


def test_nothing_measured_and_an_unknown_section_are_refused():
    with pytest.raises(BadInput, match="nothing measured"):
        tape(size=None)
    with pytest.raises(BadInput, match="no form of a section"):
        tape(rows=ROWS, section="hexagon")


def test_sizes_are_read_as_people_type_them():
    for text in (
        "230x210x140",
        "230 x 210 x 140 mm",
        "230×210×140",
        "23x21x14 cm",
        "0,23x0,21x0,14m",
        "23,0*21.0*14cm",
    ):
        assert read_size(text) == pytest.approx((230.0, 210.0, 140.0))
    for text in ("230x210", "230", "230x210x140x5", "axbxc", "-230x210x140", "230x210x140 furlongs", "", "nanx1x1"):
        with pytest.raises(BadInput, match="not three sizes"):
            read_size(text)
    assert read_profile("0:180x160 60:230x210 140:150x140") == ROWS
    assert read_profile("0:180x160; 60:230x210; 140:150x140") == ROWS
    for text in ("180x160", "0:180", "0:180x160,60:230x210", "", "a:bxc"):
        with pytest.raises(BadInput, match="no row of a profile"):
            read_profile(text)


# --- from a scan -------------------------------------------------------------------------------------------------


def scan(mesh, known=None, name="jar.ply", **declared):
    data = mesh.export(file_type=name.rpartition(".")[2])
    return measure_scan(ScanReading(data=data, name=name, **declared), known or Known(find="find 37"))


def block_mesh(scale=1.0):
    """A frustum of 230 mm across, 140 mm high, standing on its flat base."""
    mesh = trimesh.creation.revolve([(0, 0), (90, 0), (115, 60), (75, 140), (0, 140)], sections=96)
    mesh.apply_scale(scale)
    return mesh


def test_a_scan_whose_size_fits_one_unit_only_is_taken_in_it_and_it_is_said():
    for scale, unit in ((1.0, "mm"), (0.001, "m")):
        found = scan(block_mesh(scale))
        assert found.scan.unit == unit
        assert "not declared" in found.scan.unit_why
        assert found.size_mm == pytest.approx((230, 230, 140), rel=2e-3)


def test_a_scan_whose_size_fits_several_units_is_a_question_with_figures():
    question = asked(scan, block_mesh(0.1))
    assert question.about == "units"
    assert question.choices == ("mm", "cm", "in")
    assert "230 x 230 x 140 mm" in question.text
    answered = scan(block_mesh(0.1), Known(find="find 37", answers={"units": "cm"}))
    assert answered.size_mm == pytest.approx((230, 230, 140), rel=2e-3)


def test_a_pot_200_m_wide_is_a_question():
    question = asked(scan, block_mesh(), units="m")
    assert "230 x 230 x 140 m" in question.text
    assert question.choices == ("mm",)
    tiny = asked(scan, block_mesh(0.001), units="mm")
    assert tiny.choices == ("m",)
    glb = asked(scan, block_mesh(), name="jar.glb")
    assert "in metres the scan is 230 x" in glb.text
    assert glb.choices == ("mm",)


def test_a_scan_that_is_no_find_in_any_unit_is_refused():
    with pytest.raises(BadInput, match="no find in any unit"):
        scan(block_mesh(1e6))
    with pytest.raises(BadInput, match="no find in any unit"):
        scan(block_mesh(1e-7), units="mm")


def test_a_glb_is_metres_and_y_up_by_its_standard():
    mesh = block_mesh(0.001)
    mesh.vertices = mesh.vertices[:, [0, 2, 1]] * (1, 1, -1)
    found = scan(mesh, name="jar.glb")
    assert (found.scan.unit, found.scan.up) == ("m", "y")
    assert found.size_mm == pytest.approx((230, 230, 140), rel=2e-3)
    assert found.profile_mm[0][1] == pytest.approx(180, rel=0.02)


def test_a_scan_lying_on_its_side_is_a_question_when_nobody_said_which_way_is_up():
    mesh = block_mesh()
    mesh.vertices = mesh.vertices[:, [0, 2, 1]] * (1, 1, -1)
    question = asked(scan, mesh)
    assert question.about == "up"
    assert question.choices[0] == "y"
    found = scan(mesh, Known(find="find 37", answers={"up": "y"}))
    assert found.size_mm[2] == pytest.approx(140)
    assert scan(mesh, up="z").size_mm[2] == pytest.approx(230, rel=2e-3)
    upside_down = block_mesh()
    upside_down.vertices = upside_down.vertices * (1, -1, -1)
    assert scan(upside_down).size_mm[2] == pytest.approx(140)  # both sides are flat: z is taken


def test_round_lumps_are_not_asked_about():
    assert scan(trimesh.creation.icosphere(4, 80)).scan.up_why == "not declared: z is taken"


def test_unknown_units_and_axes_are_refused():
    with pytest.raises(BadInput, match="no unit"):
        scan(block_mesh(), units="ells")
    with pytest.raises(BadInput, match="no axis"):
        scan(block_mesh(), up="north")


def test_an_open_scan_has_a_volume_between_its_lids_and_its_hull_and_is_asked_about():
    mesh = trimesh.creation.cylinder(radius=60, height=90, sections=96)
    base = np.all(mesh.vertices[mesh.faces][:, :, 2] < -44.9, axis=1)
    found = scan(trimesh.Trimesh(mesh.vertices, mesh.faces[~base], process=False), units="mm", up="z")
    assert not found.scan.closed
    assert found.volume_l == pytest.approx(mesh.volume / 1e6, rel=1e-6)
    assert found.volume_low_l <= found.volume_l <= found.volume_high_l
    assert [question.about for question in found.questions] == ["holes"]
    assert found.scan.holes[0].perimeter_mm == pytest.approx(2 * math.pi * 60, rel=1e-3)
    assert any("underneath" in remark for remark in found.remarks)
    assert found.scan.crossing_lines is None


def test_a_hollow_vessel_says_what_its_hull_holds():
    outer = trimesh.creation.revolve(
        [(0, 0), (60, 0), (90, 70), (70, 140), (62, 140), (82, 70), (54, 8), (0, 8)], sections=96
    )
    found = scan(outer, units="mm", up="z")
    assert found.scan.closed
    assert found.volume_high_l == pytest.approx(found.scan.hull_l)
    assert found.volume_l < 0.3 * found.scan.hull_l
    assert any("hollow" in remark for remark in found.remarks)


def test_surfaces_through_each_other_are_asked_about_with_the_space_they_cover():
    one, two = trimesh.creation.box((100, 60, 40)), trimesh.creation.box((50, 50, 50))
    two.apply_translation((45, 3, 5))
    found = scan(trimesh.util.concatenate([one, two]), units="mm", up="z")
    assert {"crossing", "pieces"} <= {question.about for question in found.questions}
    assert found.volume_l == pytest.approx((100 * 60 * 40 + 50**3 - 30 * 50 * 40) / 1e6, rel=0.03)


def test_pieces_left_out_are_told_and_asked_about_when_they_reach_beyond_the_find():
    near, far = trimesh.creation.icosphere(2, 3), trimesh.creation.icosphere(2, 3)
    near.apply_translation((0, 0, 20))
    far.apply_translation((150, 0, 20))
    block = trimesh.creation.box((200, 150, 140))
    inside = scan(trimesh.util.concatenate([block, near]), units="mm", up="z")
    assert inside.scan.pieces_left_out == 1
    assert inside.questions == ()
    outside = scan(trimesh.util.concatenate([block, far]), units="mm", up="z")
    (question,) = outside.questions
    assert question.about == "left out"
    assert "53 mm beyond" in question.text  # 150 + 3 - 100
    assert outside.size_mm == pytest.approx((200, 150, 140))


def test_a_scan_on_the_national_grid_in_short_numbers_is_told_how_coarse_it_is():
    mesh = block_mesh(0.001)
    far = trimesh.Trimesh(mesh.vertices + np.array([500_000, 300_000, 12]), mesh.faces, process=False)
    found = scan(far, name="jar.stl", units="m", up="z")
    assert any("coordinates go in steps of 31 mm" in remark for remark in found.remarks)


def test_a_flat_scan_is_refused():
    sheet = trimesh.Trimesh([(0, 0, 0), (100, 0, 0), (0, 80, 0)], [(0, 1, 2)], process=False)
    for up in ("z", "y"):
        with pytest.raises(BadInput, match="one plane"):
            scan(sheet, units="mm", up=up)
    dot = trimesh.Trimesh([(0, 0, 0), (100, 0, 0)], [(0, 0, 1)], process=False)
    with pytest.raises(BadInput, match="flat"):
        scan(dot, units="mm", up="z")


def test_the_mass_of_a_scan_is_set_against_its_own_volume():
    volume = block_mesh().volume / 1e9
    right = scan(block_mesh(), Known(**{**known_of(JAR), "mass_kg": 1700 * volume}), units="mm", up="z")
    assert right.questions == ()
    heavy = scan(block_mesh(), Known(**{**known_of(JAR), "mass_kg": 2800 * volume}), units="mm", up="z")
    assert [question.about for question in heavy.questions] == ["mass_kg"]


def test_a_sample_mesh_of_a_general_library_is_measured_as_another_library_does():
    # Source: nut.ply of PyVista (licence beside it), volumes by trimesh.
    path = Path(__file__).parents[1] / "authorities" / "scan_nut.ply"
    found = measure_scan(ScanReading(data=path.read_bytes(), name=path.name, units="mm", up="z"), Known(find="nut"))
    other = trimesh.load_mesh(path)
    assert found.scan.closed
    assert found.size_mm == pytest.approx(sorted_plan(other.extents), abs=1e-4)
    assert found.volume_l == pytest.approx(other.volume / 1e6, rel=1e-6)
    assert found.scan.hull_l == pytest.approx(other.convex_hull.volume / 1e6, rel=1e-6)


def sorted_plan(extents):
    return (max(extents[:2]), min(extents[:2]), extents[2])
