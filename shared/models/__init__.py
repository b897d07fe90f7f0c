from shared.models.change import Change, Photo, Strike
from shared.models.fact import Fact, Line, new_id
from shared.models.journal import Entry, JournalHead
from shared.models.sign_in import SignInTry
from shared.models.site import Membership, Person, Role, Site

__all__ = [
    "Change",
    "Entry",
    "Fact",
    "JournalHead",
    "Line",
    "Membership",
    "Person",
    "Photo",
    "Role",
    "SignInTry",
    "Site",
    "Strike",
    "new_id",
]
