"""What is said before a round begins and on its sheet. Common practice, no source.

Each part of a round adds the cautions of its own step.
"""

from django.utils.translation import gettext_lazy as _

CAUTIONS = (
    _("Key off, park brake on, run/tow switch to tow. Chock the wheels that stay down."),
    _(
        "Hard level floor. Nobody under a cart on a jack alone: stands beneath the chassis, "
        "rocked before reaching in."
    ),
    _("Batteries: rings and watches off, insulated tools, no spark."),
    _(
        "The kit maker's and cart maker's instructions, local law and the insurer's terms come "
        "first; welding, frame and electrical work belongs to qualified people."
    ),
    _("This tool keeps records; it does not make a cart fit to run."),
)
