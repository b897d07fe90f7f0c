"""What a refused form finds wrong, as one list that leads to the fields."""


def mistakes_of(form, title="", place=""):
    """Yield (where on the page, of what, message); ``place`` is where the form itself stands."""
    for name, messages in form.errors.items() if form.is_bound else ():
        where = form[name].auto_id if name in form.fields else place
        yield from ((where, title, _named(form, name, one)) for one in messages)


def _named(form, name, message):
    """Return a message that names its field; those of a form say themselves what they are of."""
    field = form.fields.get(name)
    label = getattr(field, "named", field.label) if field else ""
    if not label or f"{label}" in message:
        return message
    return f"{label}: {message}"
