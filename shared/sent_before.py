"""A page that was recorded and then sent again with other content, as after the browser's Back."""

from uuid import uuid5

from django.utils.translation import gettext as _

from shared.models import new_id


def say_sent_before(form, name="act"):
    """Have a form ask whether this is one more: pressed again it counts as another act."""
    said = _(
        "This page was recorded before, with other content. "
        "Press again only if this is to be recorded as well."
    )
    form.add_error(None, said)
    form.data = form.data.copy()
    form.data[form.add_prefix(name)] = str(new_id())


def one_of_its_content(act, *content):
    """Return the id of an act for one content of its page: the same again is the same act."""
    return uuid5(act, repr(content))
