"""The joints that most lifts disturb, to begin a kit's list with.

Common practice, no source. No torque stands here: the kit maker's sheet has it.
"""

USUAL_JOINTS = """\
joint | family | wheel | count | thread | grade | grip | K | target | low | high | stages | order \
| locker | locking | removals | marks | source
left front lugs | lugs | left front | 4 | 1/2-20 | | | | | | | 50, 80, 100 % | star | | | | \
critical |
left hub nut | hub-nuts | left front | 1 | spindle | | | | | | | | | | pin | | critical |
left king pin nut | steering-joints | left front | 1 | | | | | | | | | | | pin | | critical |
left tie-rod end | steering-joints | left front | 1 | taper | | | | | | | | | | pin | | critical |
left shocks | other-joints | left front | 2 | | | | | | | | | | | | |  |
left rear lugs | lugs | left rear | 4 | 1/2-20 | | | | | | | 50, 80, 100 % | star | | | | \
critical |
left U-bolts | u-bolts | left rear | 4 | M10 | | | | | | | 3 steps | crosswise | | | | \
critical, weight on, new each time |
left spring end bolts | other-joints | left rear | 2 | | | | | | | | | | | | | weight on |
left spring centre bolt | other-joints | left rear | 1 | | | | | | | | | | | | | by look |
left shackle bolts | other-joints | left rear | 2 | | | | | | | | | | | nylon insert | | |
right rear lugs | lugs | right rear | 4 | 1/2-20 | | | | | | | 50, 80, 100 % | star | | | | \
critical |
right U-bolts | u-bolts | right rear | 4 | M10 | | | | | | | 3 steps | crosswise | | | | \
critical, weight on, new each time |
right spring end bolts | other-joints | right rear | 2 | | | | | | | | | | | | | weight on |
right spring centre bolt | other-joints | right rear | 1 | | | | | | | | | | | | | by look |
right shackle bolts | other-joints | right rear | 2 | | | | | | | | | | | nylon insert | | |
brake cable bracket | other-joints | right rear | 1 | | | | | | | | | | | | |  |
right front lugs | lugs | right front | 4 | 1/2-20 | | | | | | | 50, 80, 100 % | star | | | | \
critical |
right hub nut | hub-nuts | right front | 1 | spindle | | | | | | | | | | pin | | critical |
right king pin nut | steering-joints | right front | 1 | | | | | | | | | | | pin | | critical |
right tie-rod end | steering-joints | right front | 1 | taper | | | | | | | | | | pin | | critical |
right shocks | other-joints | right front | 2 | | | | | | | | | | | | |  |
tie-rod jam nuts | steering-joints | | 2 | rod | | | | | | | | | | jam nut | | critical |
steering rack to frame | steering-joints | | 2 | | | | | | | | | | | | | critical |
front suspension to frame | other-joints | | 4 | | | | | | | | | crosswise | medium | | | critical |
front bumper | other-joints | | 2 | | | | | | | | | | | | | by look |
"""

USUAL_LUGS = "".join(
    line
    for place, line in enumerate(USUAL_JOINTS.splitlines(keepends=True))
    if place == 0 or "| lugs |" in line
)

USUAL_POINTS = """\
point | count | marks
left king pin | 2 |
left upper arm | 1 |
right king pin | 2 |
right upper arm | 1 |
shackles | 4 |
"""
