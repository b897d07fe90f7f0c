"""A migration that makes many tables at once, for new databases.

Django works out all models anew after each operation: for our seventy tables and their
indexes that was 7 s of the 8 that a new database took.
"""

from django.db import migrations
from django.db.migrations import operations as one

# what making a table from its last state does, too
WITHIN = (one.AddField, one.AddIndex, one.AddConstraint)


class TablesAtOnce(migrations.Migration):
    """Makes each table as it is at the end of the migration; takes it back step by step.

    Raises TypeError where an operation does more than make a table or add to it.
    """

    def apply(self, project_state, schema_editor, collect_sql=False):
        after = project_state.clone()
        # what is not worked out yet is not worked out anew, either
        after.__dict__.pop("apps", None)
        after = self.mutate_state(after, preserve=False)
        for making in self._makings():
            making.database_forwards(self.app_label, schema_editor, project_state, after)
        return after

    def _makings(self):
        for other in self.operations:
            if not isinstance(other, (one.CreateModel, *WITHIN)):
                raise TypeError(f"{self} does more than make tables: {other.describe()}")
        return [making for making in self.operations if isinstance(making, one.CreateModel)]
