"""The joints that most lifts disturb, to begin a kit's list with.

Common practice, no source. No torque stands here: the kit maker's sheet has it.
"""

USUAL_JOINTS = """\
joint | family | wheel | count | thread | target | stages | order | locker | locking | marks | \
source
left front lugs | lugs | left front | 4 | 1/2-20 | | 50, 80, 100 % | star | | | critical |
left hub nut | hub-nuts | left front | 1 | | | | | | pin | critical |
left king pin nut | steering-joints | left front | 1 | | | | | | pin | critical |
left tie-rod end | steering-joints | left front | 1 | | | | | | pin | critical |
left shocks | other-joints | left front | 2 | | | | | | |  |
left rear lugs | lugs | left rear | 4 | 1/2-20 | | 50, 80, 100 % | star | | | critical |
left U-bolts | u-bolts | left rear | 4 | M10 | | 3 steps | crosswise | | | critical, weight on |
left spring end bolts | other-joints | left rear | 2 | | | | | | | weight on |
left shackle bolts | other-joints | left rear | 2 | | | | | | nylon insert | |
right rear lugs | lugs | right rear | 4 | 1/2-20 | | 50, 80, 100 % | star | | | critical |
right U-bolts | u-bolts | right rear | 4 | M10 | | 3 steps | crosswise | | | critical, weight on |
right spring end bolts | other-joints | right rear | 2 | | | | | | | weight on |
right shackle bolts | other-joints | right rear | 2 | | | | | | nylon insert | |
brake cable bracket | other-joints | right rear | 1 | | | | | | |  |
right front lugs | lugs | right front | 4 | 1/2-20 | | 50, 80, 100 % | star | | | critical |
right hub nut | hub-nuts | right front | 1 | | | | | | pin | critical |
right king pin nut | steering-joints | right front | 1 | | | | | | pin | critical |
right tie-rod end | steering-joints | right front | 1 | | | | | | pin | critical |
right shocks | other-joints | right front | 2 | | | | | | |  |
tie-rod jam nuts | steering-joints | | 2 | | | | | | jam nut | critical |
steering rack to frame | steering-joints | | 2 | | | | | | | critical |
front suspension to frame | other-joints | | 4 | | | | crosswise | medium | | critical |
"""

USUAL_POINTS = """\
point | count | marks
left king pin | 2 |
left upper arm | 1 |
right king pin | 2 |
right upper arm | 1 |
shackles | 4 |
"""
