"""No broker at all; or one that hands out each message three times, out of order."""

import time

import redis as redis_client

from deploy.faults.kept import Kept
from deploy.faults.listed import fault
from deploy.faults.owing import Owing, rows_twice
from deploy.faults.phone import Phone, filled
from deploy.faults.yard import PASSWORD
from fleet.actions.imports import begin_run
from fleet.importing.guide import sample_text
from fleet.kinds import register
from fleet.models import ImportRun, Notice
from fleet.tasks import start_jobs, sweep
from shared import clock

PEOPLE = 5
MOST_POST_MS = 400
# on a busy machine: this much more than the same posts with a broker
MORE_THAN_USUAL_MS = 150
TIMES = 3
SHEET = "readings"
EFFECTS_A_JOB = 100


@fault("F6", "NOBROKER", "no broker at all for the whole run", short=40, long=500)
def no_broker(world, count, tally):
    """Tag carts and ask for bundles by the web; with a broker afterwards, to compare."""
    owing = Owing(world, carts=2 * count // PEOPLE, people=PEOPLE)
    world.sink.start()
    kept = Kept(world)
    kept.start("sweep")
    kept.start("web server")
    posting = _Posting(world, owing)
    posting.go_on(count // PEOPLE)
    delay_s = kept.wait_until(owing.is_settled, "all that is owed is sent")
    tally.say(notices=len(owing.wanted))
    tally.exactly(lost=(owing.lost(), 0), dup_rows=(rows_twice(), 0))
    tally.at_most(worst_delay_s=(round(max(delay_s, owing.worst_delay_s())), 120))
    without_ms = posting.p95_ms()
    world.redis.start()
    posting.took_ms.clear()
    posting.go_on(count // PEOPLE)
    usual_ms = posting.p95_ms()
    tally.exactly(web_5xx=(posting.failed, 0))
    tally.at_most(web_p95_ms=(without_ms, max(MOST_POST_MS, usual_ms + MORE_THAN_USUAL_MS)))
    tally.say(with_broker_p95_ms=usual_ms)


class _Posting:
    """A manager at the web: tags carts, and asks for bundles, which rings the worker."""

    def __init__(self, world, owing):
        self.owing, self.site = owing, f"/{owing.yard.site.slug}"
        self.phone = Phone(world.place.environ["FLEET_URL"])
        self.phone.sign_in(owing.yard.manager.email, PASSWORD)
        self.took_ms: list[float] = []
        self.failed = 0

    def go_on(self, carts):
        for _ in range(carts):
            self._tag(self.owing.waiting.pop())
            asked = self._post(f"{self.site}/bundles/new/", {})
            # it would only keep the machine busy
            self.phone.post(asked.url.removeprefix(self.phone.address) + "cancel/", {})

    def _tag(self, cart):
        path = f"{self.site}/carts/{cart.pk}/tag/"
        said = filled(self.phone.get(path))
        self._post(path, said | {"reason": "the left wheel rubs", "is_critical": "yes"})
        self.owing.take_down(cart)

    def _post(self, path, fields):
        began_s = time.monotonic()
        answer = self.phone.post(path, fields)
        self.took_ms.append((time.monotonic() - began_s) * 1000)
        self.failed += not answer.is_done
        return answer

    def p95_ms(self):
        return round(sorted(self.took_ms)[int(len(self.took_ms) * 0.95)])


@fault("F11", "DUPDELIVERY", "each task message three times, out of order", short=60, long=1000)
def duplicates(world, count, tally):
    """Without beat and sweep: nothing happens but by the messages that are given out."""
    owing = Owing(world, carts=count // PEOPLE, people=PEOPLE)
    world.redis.start()
    world.sink.start()
    kept = Kept(world)
    for _ in range(2):
        kept.start("worker")
    queue = redis_client.Redis(port=world.redis.port)
    jobs = [_publish(world, owing, kept) for _ in range(max(1, count // EFFECTS_A_JOB))]
    kept.wait_until(lambda: not queue.llen("celery") + queue.hlen("unacked"), "none waits", 600)
    once = ImportRun.objects.filter(pk__in=jobs, state=ImportRun.State.DONE, attempts=1).count()
    sent = Notice.objects.filter(stage=Notice.Stage.TAGGED, sent_at__isnull=False, attempts=1)
    tally.say(messages=TIMES * (len(owing.wanted) + len(jobs)))
    tally.exactly(effects=(sent.count(), len(owing.wanted)), jobs_once=(once, len(jobs)))
    tally.exactly(lost=(owing.lost(), 0), dup_rows=(rows_twice(), 0))
    tally.exactly(mail_twice=(owing.mails_more(), 0))


def _publish(world, owing, kept):
    """Owe some mails and one job, and publish a message for each, as often as it is given out."""
    site, manager = owing.yard.site, owing.yard.manager
    content = sample_text(register.importers[SHEET], site).encode()
    job = begin_run(site, SHEET, "readings.csv", content, by=manager, at=clock.now())
    before = len(owing.wanted)
    owing.tag(min(len(owing.waiting), EFFECTS_A_JOB // PEOPLE))
    owed = [sweep] * (len(owing.wanted) - before) + [start_jobs]
    messages = [(task, f"{job.pk}-{n}") for n, task in enumerate(owed)] * TIMES
    world.random.shuffle(messages)
    for task, task_id in messages:
        task.apply_async(task_id=task_id)
    ended = ImportRun.objects.filter(pk=job.pk, ended_at__isnull=False)
    kept.wait_until(ended.exists, "the job has ended")
    return job.pk
