"""Do the work of one job's row in this process: started by the worker, the sweep or by hand."""

from uuid import UUID

from django.core.management.base import BaseCommand

from fleet import job_process, jobs
from fleet.actions import jobs as actions
from shared import clock


class Command(BaseCommand):
    help = "Do one long job that waits, such as a bundle; the worker starts these."

    def add_arguments(self, parser):
        parser.add_argument("kind", choices=sorted(jobs.kinds))
        parser.add_argument("id", type=UUID)

    def handle(self, *args, kind, id, **options):
        with job_process.bound(jobs.kinds[kind].allowance):
            state = actions.run(kind, id, now=clock.now)
        self.stdout.write(state or "not to be had")
