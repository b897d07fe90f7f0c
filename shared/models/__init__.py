from shared.models.change import Change, Photo, Strike
from shared.models.fact import Fact, Line, new_id
from shared.models.journal import Checkpoint, Entry, JournalHead
from shared.models.last_done import LastDone
from shared.models.restore import Restore
from shared.models.sign_in import SignInTry
from shared.models.site import Membership, Person, Role, Site
from shared.models.surveyor import PageSeen, SurveyorLink

__all__ = [
    "Change",
    "Checkpoint",
    "Entry",
    "Fact",
    "JournalHead",
    "LastDone",
    "Line",
    "Membership",
    "PageSeen",
    "Person",
    "Photo",
    "Restore",
    "Role",
    "SignInTry",
    "Site",
    "Strike",
    "SurveyorLink",
    "new_id",
]
