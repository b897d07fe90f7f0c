"""A left front wheel as a rigid body, to check the formulas of advice against.

Axes of ISO 8855: x forward, y left, z up; mm. The knuckle hangs on a lower joint at the origin
and an upper one above it; the arm's end is held by a tie rod from a point nearer the middle.
"""

import numpy as np
from scipy.optimize import brentq

ROD_MM = 350.0


def leaned(out_deg):
    """Return the rotation that leans the top out, to the left, about the lower joint."""
    angle = np.radians(out_deg)
    return np.array(
        [
            [1, 0, 0],
            [0, np.cos(angle), np.sin(angle)],
            [0, -np.sin(angle), np.cos(angle)],
        ]
    )


def steered(left_rad):
    cos, sin = np.cos(left_rad), np.sin(left_rad)
    return np.array([[cos, -sin, 0], [sin, cos, 0], [0, 0, 1]])


def toe_deg(*, arm_mm, is_ahead, height_mm=0.0, out_deg=0.0, longer_mm=0.0):
    """Return the wheel's toe in degrees, plus for toe-in, from straight and upright before."""
    arm_end = np.array([arm_mm if is_ahead else -arm_mm, 0, height_mm])
    inner_end = arm_end - [0, ROD_MM, 0]

    def too_long_mm(left_rad):
        end = leaned(out_deg) @ steered(left_rad) @ arm_end
        return np.linalg.norm(end - inner_end) - ROD_MM - longer_mm

    left_rad = brentq(too_long_mm, -0.5, 0.5, xtol=1e-14)
    ahead = leaned(out_deg) @ steered(left_rad) @ [1, 0, 0]
    return float(-np.degrees(np.arctan2(ahead[1], ahead[0])))


def camber_deg(*, knuckle_mm, longer_mm):
    """Return the camber that an upper arm longer by so much leans the knuckle to."""
    return float(np.degrees(np.arcsin(longer_mm / knuckle_mm)))
