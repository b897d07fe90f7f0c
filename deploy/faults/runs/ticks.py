"""The sweep and beat killed, run twice, run without a broker."""

from deploy.faults import yard
from deploy.faults.listed import fault
from deploy.faults.world import wait_until
from fleet.models import Notice
from shared import clock


@fault("F6", "NOBROKER", "no broker at all for the whole run", short=20, long=500)
def no_broker(world, count, tally):
    place = yard.make(clock.now(), carts=count, mechanics=1)
    world.sink.start()
    world.start("sweep")
    wanted = count * len(place.people)
    about = list(place.ordered().values_list("pk", flat=True))
    notices = Notice.objects.filter(about__in=about)
    delay_s = wait_until(lambda: notices.count() >= wanted, "notices are written", 120)
    tally.exactly(notices=(notices.count(), wanted))
    tally.at_most(worst_delay_s=(round(delay_s), 120))
