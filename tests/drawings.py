"""Reads a drawing back from its SVG: words with their boxes, points where they are drawn."""

import re
from dataclasses import dataclass
from itertools import combinations
from math import atan2, cos, degrees, radians, sin
from xml.etree import ElementTree

SVG = "{http://www.w3.org/2000/svg}"
EM_A_LETTER, EM_HIGH, EM_DEEP = 0.56, 0.75, 0.2  # of a plain sans-serif, roughly
FORBIDDEN = {"style", "onclick", "onload", "href"}
TURN = re.compile(r"rotate\((\S+) (\S+) (\S+)\)")
BOX = ("x", "y", "width", "height", "rx")
STEP = re.compile(r"([MLAHVZ])([^MLAHVZ]*)")


@dataclass(frozen=True)
class Word:
    words: str
    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other):
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )


def read(svg):
    return ElementTree.fromstring(svg)


def size(root):
    _x, _y, width, height = map(float, root.get("viewBox").split())
    return width, height


def named(root, name):
    """Return the elements whose part holds every word of ``name``."""
    wanted = set(name.split())
    return [node for node in root.iter() if wanted <= set((node.get("data-part") or "").split())]


def said(root):
    return [node.text for node in root.iter(f"{SVG}text")]


def words(root):
    """Return each text with the box it takes up, roughly."""
    found = []
    for node in root.iter(f"{SVG}text"):
        x, y, em = (float(node.get(name)) for name in ("x", "y", "font-size"))
        wide = len(node.text) * em * EM_A_LETTER
        before = {"start": 0, "middle": wide / 2, "end": wide}[node.get("text-anchor")]
        box = x - before, y - EM_HIGH * em, x - before + wide, y + EM_DEEP * em
        found.append(Word(node.text, *box))
    return found


def overlaps(root):
    return [(a.words, b.words) for a, b in combinations(words(root), 2) if a.meets(b)]


def turn_of(node):
    """Return a group's turn in degrees, plus for clockwise, and its middle."""
    deg, x, y = map(float, TURN.fullmatch(node.get("transform")).groups())
    return deg, (x, y)


def turned(point, deg, about):
    x, y = point[0] - about[0], point[1] - about[1]
    c, s = cos(radians(deg)), sin(radians(deg))
    return about[0] + x * c - y * s, about[1] + x * s + y * c


def path_points(d):
    """Return the points that a path goes through, in its order."""
    points = []
    for letter, rest in STEP.findall(d):
        numbers = [float(number) for number in rest.split()]
        if letter in "ML":
            points += list(zip(numbers[::2], numbers[1::2], strict=True))
        elif letter == "A":
            points.append((numbers[5], numbers[6]))
        elif letter == "H":
            points.append((numbers[0], points[-1][1]))
        elif letter == "V":
            points.append((points[-1][0], numbers[0]))
    return points


def box_points(x, y, wide, high, radius):
    """Return where a box's straight edges end: above, at the right, below, at the left."""
    right, foot = x + wide, y + high
    return [
        *[(x + radius, y), (right - radius, y), (right, y + radius), (right, foot - radius)],
        *[(right - radius, foot), (x + radius, foot), (x, foot - radius), (x, y + radius)],
    ]


def own_points(node):
    if node.tag == f"{SVG}path":
        return path_points(node.get("d"))
    if node.tag == f"{SVG}rect":
        return box_points(*(float(node.get(name, 0)) for name in BOX))
    if node.tag == f"{SVG}circle":
        x, y, r = (float(node.get(name)) for name in ("cx", "cy", "r"))
        return [(x - r, y), (x + r, y), (x, y - r), (x, y + r)]
    return []


def points(node, *, without=()):
    """Return every point of what is drawn, where it is seen."""
    if node.tag in (f"{SVG}defs", f"{SVG}text") or set((node.get("data-part") or "").split()) & set(
        without
    ):
        return []
    found = own_points(node)
    for child in node:
        found += points(child, without=without)
    if node.get("transform"):
        deg, about = turn_of(node)
        found = [turned(point, deg, about) for point in found]
    return found


def from_upright_deg(start, end):
    """Return how far a line leans to the right of straight up."""
    return degrees(atan2(end[0] - start[0], start[1] - end[1]))


def top_of(box):
    return middle(*points(box)[:2])


def foot_of(box):
    return middle(*points(box)[4:6])


def middle(one, other):
    return (one[0] + other[0]) / 2, (one[1] + other[1]) / 2


def unmatched(ones, others, *, near=0.05):
    """Return the points of ``ones`` that have no like among ``others``, each used once."""
    left_over, alone = list(others), []
    for x, y in ones:
        like = [at for at in left_over if abs(at[0] - x) < near and abs(at[1] - y) < near]
        if like:
            left_over.remove(like[0])
        else:
            alone.append((x, y))
    return alone + left_over


def mirrored(found, wide=360):
    return [(wide - x, y) for x, y in found]


def faults(svg):
    """Return what no drawing may have: anything outside it, small words, forbidden attributes."""
    root = read(svg)
    width, height = size(root)
    found = [
        f"{word.words!r} at {word}"
        for word in words(root)
        if word.left < 0 or word.top < 0 or word.right > width or word.bottom > height
    ]
    found += [
        f"point {point}"
        for point in points(root)
        if not (-0.01 <= point[0] <= width + 0.01 and -0.01 <= point[1] <= height + 0.01)
    ]
    for node in root.iter():
        found += [f"{node.tag} with {name}" for name in FORBIDDEN & set(node.attrib)]
    # a phone of 390 px leaves a drawing some 350
    found += [
        f"{node.text!r} is small"
        for node in root.iter(f"{SVG}text")
        if float(node.get("font-size")) * 350 / width < 12
    ]
    inks = {node.get(name) for node in root.iter() for name in ("fill", "stroke")}
    found += [
        f"ink {ink}"
        for ink in inks - {None, "none", "#fff", "currentColor"}
        if not ink.startswith("url(#")
    ]
    if root.get("role") != "img" or [child.tag for child in root[:2]] != [
        f"{SVG}title",
        f"{SVG}desc",
    ]:
        found.append("not told to who cannot see it")
    return found
