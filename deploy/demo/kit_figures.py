"""What each place tells of its kits' camber and toe: invented sheets of invented kits."""

from uuid import uuid5

from alignment.actions import save_spec
from alignment.forms_specs import SpecForm
from deploy.demo.carts import SEED

LIMITS = {
    "camber_low": "-0.5",
    "camber_high": "0.5",
    "side_to_side": "0.5",
    "toe_low": {"inch": "1/8 in", "metric": "3.2 mm"},
    "toe_high": {"inch": "1/4 in", "metric": "6.4 mm"},
}
FIGURES = {
    "harrow-4": {
        "source": "Harrow 4 kit sheet, edition 1, invented for the demo",
        "rods": "two",
        "rod_ends": "single",
        "rod_pitch": {"inch": "20 an inch", "metric": "1.25 mm"},
        "arm_length": {"inch": "4 1/2 in", "metric": "114 mm"},
        "arm": "ahead",
        "rod_height": {"inch": "1 1/4 in", "metric": "32 mm"},
        "camber_adjusts": "sleeve",
        "sleeve_ends": "double",
        "sleeve_right_hand": "wheel",
        "sleeve_pitch": "1.5 mm",
        "knuckle": {"inch": "9 in", "metric": "230 mm"},
    },
    "lark-3": {
        "source": "Lark 3 kit sheet, edition 1, invented for the demo",
        "rods": "two",
        "rod_ends": "double",
        "rod_right_hand": "middle",
        "rod_pitch": {"inch": "24 an inch", "metric": "1 mm"},
        "arm_length": {"inch": "5 1/2 in", "metric": "140 mm"},
        "arm": "behind",
        "rod_height": {"inch": "1 1/2 in", "metric": "40 mm"},
        "camber_adjusts": "sleeve",
        "sleeve_ends": "single",
        "sleeve_pitch": {"inch": "16 an inch", "metric": "1.5 mm"},
        "knuckle": {"inch": "7 in", "metric": "180 mm"},
    },
    "tamsin-5": {
        "source": "Tamsin 5 kit sheet, edition 1, invented for the demo",
        "rods": "across",
        "rod_ends": "single",
        "rod_pitch": {"inch": "18 an inch", "metric": "1.5 mm"},
        "arm_length": {"inch": "5 in", "metric": "127 mm"},
        "arm": "behind",
        "camber_adjusts": "not",
    },
}


def tell(site, by, at):
    """Tell the figures of every kit at a site, as its manager's form makes them."""
    for kit_code, figures in FIGURES.items():
        act = uuid5(SEED, f"figures {site.slug} {kit_code}")
        said = {name: _in(site.units, told) for name, told in (LIMITS | figures).items()}
        form = SpecForm(site, kit_code, data=said | {"act": str(act)})
        if not form.is_valid():
            raise ValueError(f"{kit_code}: {form.errors.as_json()}")
        save_spec(site, kit_code, form.values(), by=by, at=at, id=act)


def _in(units, told):
    return told[str(units)] if isinstance(told, dict) else told
