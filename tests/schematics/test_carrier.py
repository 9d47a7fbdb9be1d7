"""The carrier's parts as they will be printed: closed, square, and standing by themselves on each of six faces."""

import itertools
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
import trimesh
from scipy.spatial import ConvexHull

CARRIER = Path(__file__).parents[2] / "schematics" / "carrier"
sys.path.insert(0, str(CARRIER))

import render  # noqa: E402
import template  # noqa: E402
import wiring  # noqa: E402

EXACT_MM = 1e-4
"""The STL's numbers have single precision: 4e-6 mm at 28 mm."""
PAPERS_MM = {"A4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height: ISO 216, ANSI/ASME Y14.1."""
BROWSER_MARGIN_MM = 13.0
"""Half an inch, the widest that browsers keep unless told (from memory)."""
STANDS_DEG = 8.0
"""How far a carrier may be leaned on any face and still fall back: twice what a hand sets it down askew; no source."""
INBOARD = {"left": -1, "right": 1}
"""Sign of x toward the fuselage: x points to the left tip on both sides (DEVELOPERS.md)."""


def part(name):
    """A part as it lies on the printer's bed."""
    return trimesh.load_mesh(CARRIER / render.PARTS[name])


@pytest.fixture(params=["left", "right"])
def side(request):
    return request.param


@pytest.fixture
def carrier(side):
    """A carrier in its own frame, lid up: it is printed lid down."""
    mesh = part(side)
    mesh.apply_transform(trimesh.transformations.rotation_matrix(np.pi, (1, 0, 0)))
    return mesh


def on_plane(mesh, axis, sign):
    """The vertices that a flat plane touches below the face `sign` of an axis, and the plane's distance."""
    height = sign * mesh.vertices[:, axis]
    reach = height.max()
    return mesh.vertices[height > reach - EXACT_MM], reach


def test_the_parts_are_those_of_the_source():
    assert (CARRIER / render.NOTE).read_text(encoding="ascii") == render.note(), "run `make carrier`"


@pytest.mark.parametrize("name", render.PARTS)
def test_a_part_is_one_closed_body(name):
    mesh = part(name)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.body_count == 1
    assert mesh.volume > 0
    assert mesh.bounds[0][2] == 0, "it lies on the bed"


def test_its_size_is_that_of_the_source(carrier):
    size = template.sizes()
    assert carrier.extents == pytest.approx((size.length_mm, size.width_mm, size.height_mm), abs=EXACT_MM)
    # Light enough for a small model: 15 cm³ of PLA at 1.24 g/cm³ are 19 g if solid, half of it as usually filled.
    assert carrier.volume < 15e3


@pytest.mark.parametrize(("axis", "sign"), list(itertools.product(range(3), (1, -1))))
def test_it_stands_square_and_steady_on_each_face(carrier, axis, sign):
    touched, reach = on_plane(carrier, axis, sign)
    across = [other for other in range(3) if other != axis]
    # Points at one coordinate, not all in a line (ConvexHull refuses those): at right angles to the other axes.
    edges = ConvexHull(touched[:, across]).equations
    inside_mm = -np.max(edges[:, :2] @ carrier.center_mass[across] + edges[:, 2])
    above_mm = reach - sign * carrier.center_mass[axis]
    assert np.degrees(np.arctan2(inside_mm, above_mm)) > STANDS_DEG


def test_the_long_edge_is_straight_over_its_whole_length(carrier):
    touched, _ = on_plane(carrier, 1, -1)
    assert np.ptp(touched[:, 0]) == pytest.approx(template.sizes().length_mm, abs=EXACT_MM)


def test_the_base_has_three_feet(carrier):
    touched, _ = on_plane(carrier, 2, -1)
    feet = {tuple(np.round(point[:2] / 8).astype(int)) for point in touched}
    assert len(feet) == 3


def test_the_cable_leaves_inboard_and_the_corner_is_free(carrier, side):
    size = template.sizes()
    corner = np.array([INBOARD[side] * size.length_mm / 2, size.width_mm / 2])
    into_mm = np.abs(carrier.vertices[:, :2] - corner)
    assert not np.any(np.all(into_mm < size.notch_mm - EXACT_MM, axis=1))


def test_the_arrow_points_to_the_trailing_edge(carrier):
    lid = carrier.vertices[:, 2].max()
    marked = carrier.vertices[np.abs(carrier.vertices[:, 2] - (lid - template.sizes().mark_mm)) < EXACT_MM]
    arrow = marked[np.abs(marked[:, 0]) < 5]
    widest = arrow[np.argmax(np.abs(arrow[:, 0])), 1]
    assert widest > 0
    assert arrow[np.argmax(arrow[:, 1]), 0] == pytest.approx(0, abs=EXACT_MM)


def test_left_and_right_are_told_apart_by_more_than_the_letter():
    left, right = part("left"), part("right")
    mirrored = left.vertices * (-1, 1, 1)
    # Within the volume of a letter: 6 mm x 10 mm, as deep as the marks.
    assert abs(left.volume - right.volume) < 60 * template.sizes().mark_mm
    assert {tuple(v) for v in np.round(mirrored, 3)} != {tuple(v) for v in np.round(right.vertices, 3)}


@pytest.mark.parametrize("name", render.PARTS)
def test_it_prints_without_supports(name):
    mesh = part(name)
    heights = mesh.triangles_center[:, 2]
    # Steeper than 45° prints freely: common practice, no source. The marks' ceilings are bridges of a few mm.
    hanging = (mesh.face_normals[:, 2] < -np.cos(np.radians(44))) & (heights > EXACT_MM)
    assert np.all(np.abs(heights[hanging] - template.sizes().mark_mm) < EXACT_MM)


def test_modules_go_into_the_pocket_either_way():
    for module in wiring.modules():
        assert max(module["size_mm"]) < template.sizes().pocket_mm, module["title"]


def test_the_template_is_current(tmp_path):
    subprocess.run([sys.executable, CARRIER / "template.py", tmp_path], check=True)
    drawn = (tmp_path / template.TEMPLATE).read_text(encoding="utf-8")
    assert drawn == (CARRIER / template.TEMPLATE).read_text(encoding="utf-8"), "run `make schematics`"


@pytest.mark.parametrize("paper", PAPERS_MM)
def test_the_template_is_not_shrunk_to_the_paper_and_its_unit_is_the_mm(paper):
    page = ElementTree.parse(CARRIER / template.TEMPLATE).getroot()
    size = template.PAGE_MM
    for length_mm, paper_mm in zip(size, PAPERS_MM[paper], strict=True):
        assert length_mm <= paper_mm - 2 * BROWSER_MARGIN_MM
    assert (page.get("width"), page.get("height")) == tuple(f"{length_mm}mm" for length_mm in size)
    assert page.get("viewBox") == f"0 0 {size[0]} {size[1]}"
    lines = [path.get("d") for path in page.iter("{http://www.w3.org/2000/svg}path")]
    assert any("M8 50H108" in line for line in lines), "the check line is 100 mm long"
    assert "must measure 100 mm after printing" in {text.text for text in page.iter("{http://www.w3.org/2000/svg}text")}
