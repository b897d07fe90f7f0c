from copy import deepcopy

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from lifts.fields import CodeField, QuantityField, unit_at
from lifts.kit_lines import BadLine, read_joints, read_points, write_joints, write_points
from lifts.kit_sheets import FOLDER, NO_FILE, read_token, sheet_of, token_of
from lifts.models import Kit
from lifts.proof_words import above_words
from lifts.usual_joints import USUAL_JOINTS, USUAL_LUGS, USUAL_POINTS
from shared.models import new_id
from shared.papers import PaperRefused, take
from shared.units import as_typed

MOST_RISE_MM = 600
LONG_LIST = {"rows": 26, "cols": 110, "wrap": "off", "spellcheck": "false"}
SHORT_LIST = {"rows": 8, "cols": 60, "wrap": "off", "spellcheck": "false"}
FEW_LINES = {"rows": 3}
PAPERS = {"accept": "application/pdf,image/jpeg,image/png,image/webp"}
ORDER = (
    *("act", "code", "name", "edition", "front", "rear", "rise_front", "rise_rear"),
    *("sheet", "sheet_kept", "sheet_file", "label_text", "joints", "points", "above_proof"),
)
TEXTS = ("name", "edition", "front", "rear", "sheet", "label_text", "joints", "points")
NEITHER = _(
    "One that lifts neither end is the sheet for plain carts: its joints are gone round at them"
)
PLAIN = {
    "code": "plain-cart",
    "name": _("Plain cart, lugs"),
    "front": Kit.Front.NONE,
    "rear": Kit.Rear.NONE,
    "joints": USUAL_LUGS,
}


class KitForm(forms.Form):
    """A kit, with its joints and grease points as lines of text to paste or edit.

    Why targets above proof load may stand is asked only once such targets were refused.
    ``plain`` begins it as the sheet for plain carts.
    """

    act = forms.UUIDField(widget=forms.HiddenInput)
    code = CodeField(
        max_length=40, label=_("Code"), help_text=_("Short and without spaces, for imports")
    )
    name = forms.CharField(max_length=120, label=_("Name"))
    edition = forms.CharField(
        max_length=60,
        label=_("Edition"),
        help_text=_("Edition of the maker’s sheet, as printed on it"),
    )
    front = forms.ChoiceField(choices=Kit.Front.choices, label=_("Front"))
    rear = forms.ChoiceField(choices=Kit.Rear.choices, label=_("Rear"), help_text=NEITHER)
    sheet = forms.CharField(
        required=False,
        widget=forms.Textarea(attrs=FEW_LINES),
        label=_("What the maker’s sheet says"),
    )
    sheet_kept = forms.ChoiceField(
        required=False, widget=forms.RadioSelect, label=_("The maker’s sheet as a file")
    )
    sheet_file = forms.FileField(
        required=False,
        widget=forms.FileInput(attrs=PAPERS),
        label=_("Take the maker’s sheet in"),
        help_text=_("PDF, JPEG, PNG or WebP, at most 12 MB"),
    )
    label_text = forms.CharField(
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs=FEW_LINES),
        label=_("What the warning label says"),
        help_text=_("The hazard, what comes of it, how to avoid it"),
    )
    joints = forms.CharField(
        widget=forms.Textarea(attrs=LONG_LIST),
        label=_("Joints, one a line, in walking order"),
        help_text=_("Columns parted by | or tabs, so that a spreadsheet can be pasted"),
    )
    points = forms.CharField(
        required=False,
        widget=forms.Textarea(attrs=SHORT_LIST),
        label=_("Grease points, one a line"),
    )

    def __init__(self, site, data=None, files=None, *, signer="", kit=None, plain=False):
        first = PLAIN if plain else _initial(kit)
        super().__init__(data, files, initial={"act": new_id(), **first})
        self.site = site
        for name, label in (("rise_front", _("Rise in front")), ("rise_rear", _("Rise behind"))):
            self.fields[name] = _rise(site, label)
        self.signer = signer
        if "above_proof" in self.data:
            self.fields["above_proof"] = self._reason()
        del self.fields["sheet_kept"]
        self._offer_sheet(kit)
        if kit is not None:
            del self.fields["code"]
        self.order_fields(ORDER)

    def _reason(self):
        return forms.CharField(
            required=False,
            max_length=500,
            widget=forms.Textarea(attrs=FEW_LINES),
            label=gettext("Why it may stand, signed as %s") % self.signer,
            help_text=gettext("Needed unless the target, the grade or K is put right"),
        )

    def _offer_sheet(self, kit):
        token = self.data.get("sheet_kept", "")
        sheet = read_token(token, self.site)
        if sheet:
            self._offer(sheet, token)
        elif sheet := sheet_of(kit):
            self._offer(sheet, token_of(sheet, self.site))

    def _offer(self, sheet, token):
        """Let a file that is kept already be chosen again."""
        field = self.fields.setdefault("sheet_kept", deepcopy(self.base_fields["sheet_kept"]))
        field.choices = [(token, sheet.name), NO_FILE]
        field.initial = token

    def clean_sheet_file(self):
        upload = self.cleaned_data["sheet_file"]
        try:
            return take(upload, FOLDER) if upload else None
        except PaperRefused as refused:
            raise ValidationError(refused.why) from refused

    def clean_joints(self):
        units = (unit_at(self.site, quantity) for quantity in ("torque", "length"))
        return self._read(read_joints, "joints", *units)

    def clean_points(self):
        return self._read(read_points, "points")

    def _read(self, read, name, *more):
        try:
            return read(self.cleaned_data[name], *more)
        except BadLine as bad:
            raise ValidationError(str(bad)) from bad

    def clean(self):
        sheet = self.cleaned_data.get("sheet_file")
        if sheet:
            # a browser does not send the file again when the form comes back
            token = token_of(sheet, self.site)
            self._offer(sheet, token)
            self.data = self.data.copy()
            self.data["sheet_kept"] = token
            self.order_fields(ORDER)

    def ask_signature(self, joints):
        """Come back with a field for the manager's reason, and name the joints above proof."""
        self.fields.setdefault("above_proof", self._reason())
        self.add_error(None, gettext("Not recorded yet: a target is above proof load, see below"))
        units = self.site.units
        self.add_error("above_proof", [above_words(joint, share, units) for joint, share in joints])

    def value(self, code=None):
        """Return the kit's whole value as plain JSON."""
        said = self.cleaned_data
        sheet = said["sheet_file"] or read_token(said.get("sheet_kept", ""), self.site)
        return {
            "code": code or said["code"],
            **{name: said[name] for name in TEXTS},
            **{f"{end}_mm": _plain(said[end]) for end in ("rise_front", "rise_rear")},
            "sheet_name": sheet.name if sheet else "",
            "sheet_sha256": sheet.sha256 if sheet else "",
            "sheet_copy_sha256": sheet.copy_sha256 if sheet else "",
            "above_proof": said.get("above_proof", ""),
        }


def _initial(kit):
    if kit is None:
        return {"joints": USUAL_JOINTS, "points": USUAL_POINTS}
    names = ("code", "name", "edition", "front", "rear", "sheet", "label_text")
    units = kit.site.units
    rises = {"rise_front": kit.rise_front_mm, "rise_rear": kit.rise_rear_mm}
    return {
        **{name: getattr(kit, name) for name in names},
        **{name: as_typed(mm, "length", units) for name, mm in rises.items() if mm is not None},
        "joints": write_joints(list(kit.joints.on_sheet().order_by("place").values())),
        "points": write_points(list(kit.grease_points.order_by("place").values())),
    }


def _rise(site, label):
    unit = unit_at(site, "length")
    return QuantityField("length", unit=unit, most_si=MOST_RISE_MM, required=False, label=label)


def _plain(measure):
    return None if measure is None else format(measure.si, "f")
