// The carrier: what a sensor module is fixed in, and whose faces its calibration refers to.
//
// Frame, as everywhere: x along the long edge toward the left wing tip, y along the arrow to the trailing edge,
// z out of the lid. The long straight edge is the one at -y; the base, with its three feet, is at -z.
// The cable leaves at the inboard end, through a notch in the corner, so that every face stays free to stand on.
//
// Printed lid down, as exported: no supports. `make carrier` renders the parts; template.py reads the sizes below.

part = "left";  // "left", "right" or "floor"

length_mm = 56;         // along the hinge line
width_mm = 34;
height_mm = 12;         // over all, feet included
pocket_mm = 27;         // square, so that a module may lie either way: its axes have to be the carrier's
lid_mm = 2;
floor_mm = 2;           // the plate that the module is glued on
foot_mm = 1;            // how far a foot stands out
foot_width_mm = 3.4;
notch_mm = 7;           // in the corner, for the cable
cable_mm = 3;           // over the insulation
ledge_mm = 2;           // at the corners of the pocket, for the floor to lie on
play_mm = 0.25;         // around the floor
mark_mm = 0.6;          // depth of the arrow and the letter
stroke_mm = 1.6;
chamfer_mm = 0.5;       // around the lid: a first layer pressed wide on the bed must not stand out of a face

$fn = 48;
body_mm = height_mm - foot_mm;
recess_mm = 0.6;        // of the floor below the rim: the feet alone touch

module box(from, to) translate(from) cube(to - from);

module block() {
    box([-length_mm / 2, -width_mm / 2, 0], [length_mm / 2, width_mm / 2, body_mm - chamfer_mm]);
    hull() {
        translate([0, 0, body_mm - chamfer_mm - 0.01]) linear_extrude(0.01)
            square([length_mm, width_mm], center = true);
        translate([0, 0, body_mm - 0.01]) linear_extrude(0.01)
            square([length_mm - 2 * chamfer_mm, width_mm - 2 * chamfer_mm], center = true);
    }
}

// Three points carry it: two at the long edge, one opposite. Cones, so that they print on top without a step.
module feet()
    for (at = [[-length_mm / 2 + 4, -width_mm / 2 + 2], [length_mm / 2 - 4, -width_mm / 2 + 2],
               [0, width_mm / 2 - 2]])
        translate([at[0], at[1], -foot_mm])
            cylinder(h = foot_mm + 0.01, d1 = foot_width_mm - 1, d2 = foot_width_mm);

// From the lid's inside to the base; at its corners the floor lies on ledges, wires pass between them.
module pocket() {
    top = body_mm - lid_mm;
    seat = recess_mm + floor_mm;
    half = pocket_mm / 2;
    difference() {
        box([-half, -half, -1], [half, half, top]);
        for (x = [-1, 1], y = [-1, 1])
            translate([x * half, y * half, seat]) rotate([0, 0, 45])
                translate([-ledge_mm * 1.5, -ledge_mm * 1.5, 0]) cube([ledge_mm * 3, ledge_mm * 3, top]);
    }
}

// The cable turns a corner on its way out, and once more in the notch; a tie around it in the pocket can't follow.
module cable_way() {
    depth = recess_mm + floor_mm + cable_mm + 1;
    turn = -length_mm / 2 + notch_mm / 2;
    run = 2;
    box([turn - cable_mm / 2, run - cable_mm / 2, -1], [-pocket_mm / 2 + 0.01, run + cable_mm / 2, depth]);
    box([turn - cable_mm / 2, run - cable_mm / 2, -1], [turn + cable_mm / 2, width_mm / 2, depth]);
    box([-length_mm / 2 - 1, width_mm / 2 - notch_mm, -1],
        [-length_mm / 2 + notch_mm, width_mm / 2 + 1, height_mm + 1]);
}

module arrow() {
    tip = width_mm / 2 - 4;
    head = 6;
    polygon([[-stroke_mm / 2, -tip], [stroke_mm / 2, -tip], [stroke_mm / 2, tip - head], [head * 0.6, tip - head],
             [0, tip], [-head * 0.6, tip - head], [-stroke_mm / 2, tip - head]]);
}

// Letters drawn here, since fonts differ from one computer to the next. 10 mm high.
module letter_left() {
    square([stroke_mm, 10]);
    square([6, stroke_mm]);
}

module letter_right() {
    s = stroke_mm;
    square([s, 10]);
    translate([3, 7]) difference() {
        union() { circle(3); translate([-3, -3]) square([3, 6]); }
        circle(3 - s);
        translate([-3 + s, -3 + s]) square([3 - s, 6 - 2 * s]);
    }
    polygon([[2, 4.6], [4.2, 4.6], [6.4, 0], [4.2, 0]]);
}

module marks(side)
    translate([0, 0, body_mm - mark_mm]) linear_extrude(mark_mm + 1) {
        arrow();
        translate([side == "left" ? 12 : -18, -5]) if (side == "left") letter_left(); else letter_right();
    }

// The left one; the right one is its mirror image but for the letter.
module carrier(side)
    difference() {
        mirror([side == "left" ? 0 : 1, 0, 0]) difference() {
            union() {
                block();
                feet();
            }
            pocket();
            cable_way();
        }
        marks(side);
    }

module floor_plate() {
    size = pocket_mm - 2 * play_mm;
    translate([-size / 2, -size / 2, 0]) cube([size, size, floor_mm]);
}

// As it is printed: the lid on the bed.
if (part == "floor") floor_plate();
else translate([0, 0, body_mm]) rotate([180, 0, 0]) carrier(part);
