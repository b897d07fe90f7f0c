"""The board, the desk and a cart as they were. They show, and do nothing."""

from django.core.paginator import Paginator
from django.http import Http404
from django.shortcuts import render
from django.template.loader import render_to_string
from django.urls import reverse
from django.views.decorators.http import require_safe

from fleet.as_of import BoardThen, cart_at, desk_at
from fleet.board import STOPPED_IN_USE, TITLES, Place, place_of
from fleet.board_rows import PAGE_ROWS, Maker
from fleet.cart_page import label_photos_at
from fleet.gather import site_stays
from fleet.kinds import Cut, register
from fleet.models import CartNumber
from fleet.past import asked
from fleet.past_cart import active_of, differences, ended_of
from fleet.reported import unanswered_at
from fleet.timeline import ITEMS_A_PAGE, entries_within, items_of
from shared.models import Role
from shared.viewer import allowed

ASKERS = (Role.MANAGER, Role.SURVEYOR)


def shown(request, template, answer):
    """Draw a past page: ``answer`` makes its context from the question, if one is asked."""
    form, question = asked(request)
    context = {"form": form, "question": question}
    if question:
        context |= {"site": question.site} | answer(question)
    return render(request, template, context)


@allowed(*ASKERS)
@require_safe
def past_board(request):
    after = Place.read(request.GET.get("after", ""))

    def answer(question):
        board = BoardThen(request.site, question.cut, after=after, rows=PAGE_ROWS + 1)
        works = board.works[:PAGE_ROWS]
        is_all = len(board.works) <= PAGE_ROWS
        return {
            "board": board,
            "figures": [(TITLES[name], board.counts[name]) for name in TITLES],
            "stopped_in_use": board.counts[STOPPED_IN_USE],
            "sections": PastMaker(question).sections(works, board.counts),
            "is_first": after is None,
            "next": "" if is_all else str(place_of(works[-1], board.day)),
        }

    return shown(request, "fleet/past_board.html", answer)


class PastMaker(Maker):
    """Makes the board's rows as they were, which lead to the carts as they were."""

    def __init__(self, question):
        super().__init__(question.site, question.day)
        self.question = question

    def row(self, work):
        cart_url = reverse("past-cart", args=[self.site.slug, work.cart_id])
        address = f"{cart_url}?{self.question.address}"
        return super().row(work)._replace(cart_url=address, round_url="")


@allowed(*ASKERS)
@require_safe
def past_desk(request):
    def answer(question):
        lines = sorted(desk_at(request.site, question.cut), key=lambda line: line.said.goes)
        reports = unanswered_at(request.site, question.cut)
        about = {"reports": reports, "reports_lead_to": "past-cart"}
        return about | {"lines": lines, "noes": sum(not line.said.goes for line in lines)}

    return shown(request, "fleet/past_desk.html", answer)


@allowed(*ASKERS)
@require_safe
def past_cart(request, pk):
    numbers = CartNumber.objects.filter(site=request.site, cart_id=pk)
    if not numbers.exists():
        raise Http404

    def answer(question):
        cart = cart_at(request.site, pk, question.cut)
        changed = _changed(request, cart, question, pk)
        return {"changed": changed} | (_of_cart(request, cart, question) if cart else {})

    return shown(request, "fleet/past_cart.html", answer)


def _of_cart(request, then, question):
    been_at = {site_id for _since, site_id in site_stays(then.facts)}
    entries = entries_within(then.row, question.cut, been_at)
    page = Paginator(entries, ITEMS_A_PAGE).get_page(request.GET.get("page"))
    return {
        "cart": then.row,
        "said": then.said,
        "numbers": then.numbers,
        "tags": [(tag, then.row) for tag in then.tags],
        "active": active_of(then),
        "ended": ended_of(then),
        "photos": label_photos_at(then.row, request.viewer, question.cut),
        "blocks": _blocks(request, then.row, question.cut),
        "timeline": page,
        "items": items_of(page, then.row, question.cut),
    }


def _blocks(request, cart, cut):
    """Return what the other apps said of the cart, drawn."""
    found = [block(cart, request.viewer, cut) for block in register.blocks]
    return [render_to_string(template, context, request) for template, context in found]


def _changed(request, cart, question, pk):
    """Return what is known of that moment now and was not then, or not by the moment asked."""
    happened_by = question.cut.happened_by
    if question.is_of_now:
        return differences(cart_at(request.site, pk, Cut(happened_by, happened_by)), cart)
    return differences(cart, cart_at(request.site, pk, Cut(happened_by, request.viewer.at)))
