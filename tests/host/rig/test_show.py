"""A whole sheet as it is shown, typed from its figures by hand.

Ruler: 2 asin(s / 2c) of chord c, so 1/2 in at 40 mm is 18.3° and 25° is 17.3 mm; arc: s/c, so 20 mm at 50 mm is 22.9°
and 2 mm 2.3°; height: asin(s/c), so 20 mm at 70 mm is 16.6°. 40 % differential of 25° leaves 15°.
"""

from hingeline.rig import parse_sheet
from hingeline.rig.show import sheet_text

SHEET = """
schema_version = 1
aircraft = "Amber Snipe"
modes = ["low", "high"]
[tolerances]
profile = "glider"
match = "0.4 deg"
[surface.aileron]
chord = "40 mm"
hinge = "top"
sweep = "4 deg"
throws.low = { up = "1/2 in", down = "1/4 in" }
throws.high = { up = "25 deg", differential = "40 %" }
[surface.flap]
chord = "50 mm"
station = "300 mm"
counterbalance = "15 mm"
convention = "arc"
neutral = { faired = "2 mm down" }
tolerances = { throw = "0.5 mm", match = "0.6 mm" }
throws.high = { down = "20 mm" }
[surface.rudder]
chord = "70 mm"
convention = "height"
throws.low = { left = "20 mm", right = "20 mm" }
[surface.tail]
kind = "elevator"
neutral = { level = "-1.5 deg" }
throws.low = { up = "10 deg", down = "10 deg" }
"""
SHOWN = """\
Amber Snipe
Trailing edge up, of a rudder left, is +. Tolerances: profile glider.

Surfaces
  surface  kind      sides        chord  station  mm measured by               hinge
  aileron  aileron   left, right  40 mm           ruler, tip to tip            top, sweep 4°
  flap     flap      left, right  50 mm  300 mm   along the arc                middle, tip 15 mm ahead of it
  rudder   rudder    middle       70 mm           height, square to the chord  middle, dihedral 90°
  tail     elevator  middle                       ruler, tip to tip            middle

Neutral
  surface  wanted                         tolerance
  aileron  as the other side              0.3°
  flap     -2.3° = -2.0 mm from faired    0.3°
  rudder   as you set it                  0.3°
  tail     -1.5° slope against the datum  0.3°

Mode low
  surface  command  deflection  travel    tolerance  left - right
  aileron  up       +18.3°      +0.50 in  0.5°       0.4°
  aileron  down     -9.1°       -0.25 in  0.5°       0.4°
  rudder   left     +16.6°      +20.0 mm  0.5°
  rudder   right    -16.6°      -20.0 mm  0.5°
  tail     up       +10.0°                0.5°
  tail     down     -10.0°                0.5°

Mode high
  surface  command  deflection  travel    tolerance  left - right
  aileron  up       +25.0°      +17.3 mm  0.5°       0.4°
  aileron  down     -15.0°      -10.4 mm  0.5°       0.4°
  flap     down     -22.9°      -20.0 mm  0.5 mm     0.6 mm
"""


def test_every_figure_of_a_sheet_is_shown_once_with_its_unit():
    assert [line.rstrip() for line in sheet_text(parse_sheet(SHEET, "snipe")).splitlines()] == SHOWN.splitlines()
