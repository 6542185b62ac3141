"""Fill and clearances against the worked figures of the packing reference, and unit checks done by hand."""

from dataclasses import replace

import pytest

from findhold.pack.asked import read_request
from findhold.pack.block import read_block
from findhold.pack.damp import sheet_dose
from findhold.pack.fill import crumpled_sheets
from findhold.pack.inputs import CushionNeed, FaceNeed, PlanInputs, StockBox, pack_defaults
from findhold.pack.need import need_for
from findhold.pack.plan import plan_box
from findhold.sources import source


@pytest.mark.parametrize(
    ("room_l", "density", "gsm", "sheet_m2", "mass_kg", "sheets"),
    [(10.0, 20.0, 18.0, 0.375, 0.200, 30), (12.5, 20.0, 25.0, 0.375, 0.250, 27)],
)
def test_crumpled_tissue_for_a_room_is_the_worked_example(room_l, density, gsm, sheet_m2, mass_kg, sheets):
    """Worked check of the filling formula n = ceil(V rho / (gsm A)), computed by hand in the reference."""
    assert room_l * density / 1000.0 == pytest.approx(mass_kg)
    assert crumpled_sheets(room_l, density, gsm, sheet_m2) == sheets


def worked(thick_mm, top_mm=None):
    """Block 260 x 220 x 180 mm, 9.5 kg, on pads under a 12 mm board; tissue and minimum clearances set to nothing."""
    bare = replace(
        pack_defaults(),
        **dict.fromkeys(
            (
                "side_clearance_mm",
                "hand_room_mm",
                "liner_fold_mm",
                "lid_gap_mm",
                "lid_sag_mm",
                "tissue_swell_mm",
                "wrap_tissue_mm",
                "top_tissue_mm",
                "bed_tissue_mm",
            ),
            0.0,
        ),
    )
    cushion = CushionNeed(
        bed_mm=thick_mm,
        side_mm=thick_mm,
        top_mm=thick_mm if top_mm is None else top_mm,
        board_mm=12.0,
        material="polyethylene foam",
        area_mm2=19_200.0,
        pads=1,
        why="worked example",
        faces=tuple(
            FaceNeed(
                face=name,
                many=many,
                length_mm=length,
                width_mm=width,
                foam_mm=thick_mm if name != "top" or top_mm is None else top_mm,
                sheets_mm=(thick_mm,),
                pads=1 if name == "base" else 0,
                pad_mm=19_200.0**0.5 if name == "base" else 0.0,
                board_mm=12.0 if name == "base" else 0.0,
            )
            for name, many, length, width in (
                ("base", 1, 260.0, 220.0),
                ("sides", 2, 260.0, 180.0),
                ("ends", 2, 220.0, 180.0),
                ("top", 1, 260.0, 220.0),
            )
        ),
    )
    return PlanInputs(
        material="low-fired ceramic",
        state="damp",
        block_mm=(260.0, 220.0, 180.0),
        mass_kg=9.5,
        soil="loam",
        cushion=cushion,
        defaults=bare,
    )


@pytest.mark.parametrize(
    ("thick_mm", "inside"), [(75.0, (410, 370, 342)), (90.0, (440, 400, 372)), (80.0, (420, 380, 352))]
)
def test_insides_of_the_worked_example(thick_mm, inside):
    """Inside L = block + 2 t, inside H = t + board + block + t: the reference's cases A, B and C (computed there)."""
    asked = read_request(worked(thick_mm))
    need = need_for(asked, sheet_dose(asked, read_block(asked)))
    assert need.inside_mm == inside


def test_outside_of_the_worked_example_and_its_board():
    """Outside 430 x 390 x 362 mm with 10 mm walls; the 12 mm board weighs 0.26 x 0.22 x 0.012 x 680 kg."""
    crate = StockBox(name="crate", inside_mm=(410, 370, 342), wall="HDPE", wall_mm=10.0, tare_kg=2.3)
    assert crate.outside_mm == (430, 390, 362)
    plan = plan_box(replace(worked(75.0), stock=(crate,), sheets=0))
    assert plan.box == crate
    assert (plan.clearance_mm.side_l, plan.clearance_mm.side_w, plan.clearance_mm.bed) == (75.0, 75.0, 87.0)
    beside_m2 = 2 * (0.26 + 0.22) * 0.18
    foam_kg = (0.0192 + beside_m2 + 0.26 * 0.22) * 0.075 * 35.2
    assert plan.bed_kg == pytest.approx(0.26 * 0.22 * 0.012 * 680 + foam_kg)
    layers = [(layer.name, layer.thickness_mm) for layer in plan.layers if layer.place == "bed"]
    assert layers == [("foam pad", 75.0), ("spreader board", 12.0)]


def test_the_air_over_a_shelf_has_its_source():
    """50 mm clear above contents: PD 5454 notes, seen."""
    assert pack_defaults().shelf_clear_mm == 50.0
    assert source("pd-5454-notes").seen == "seen"
