"""Every page of every role, on a phone and at a desk: it fits, it can be read and pressed."""

from functools import cache

import pytest
from axe_playwright_python.sync_playwright import Axe

from shared.models import Role

pytestmark = [pytest.mark.browser, pytest.mark.django_db]

SIZES = {"phone": {"width": 390, "height": 844}, "desk": {"width": 1280, "height": 900}}
TARGET_PX = 48
MANAGER, MECHANIC, DESK, SURVEYOR = Role.values
READ = ["account", "password-change"]
FLOOR = [*READ, "desk-cart", "desk of a tagged cart", "desk-sheet", "tag-card"]
SHOP = [
    *FLOOR,
    *("speed-class-list", "stability-detail", "stability-create"),
    *("cart-detail", "cart of none", "round-create", "round-detail", "round-sheet"),
    *("tag-create", "fitting-create", "wheel-off-create", "reading-create", "cart-note"),
    *("cart-meter", "cart-tyres", "plate-sheet", "kit-detail", "label-card"),
]
PAST = ["past-board", "past-desk", "past-cart", "no question"]
OFFICE = [
    *SHOP,
    *PAST,
    *("cart-lay-up", "cart-register", "cart-order", "cart-move", "cart-leave"),
    *("cart-create", "cart-joining"),
    *(
        "board-sheet",
        "hand-back",
        "import-run",
        "bundle-detail",
        "kit-create",
        "person-create",
        "person-role",
        "surveyor's role",
        "survey",
        "surveyor-code",
    ),
    *("rule-change", "speed-class-create", "speed-class-usual", "speed-class-claim"),
    "alignment-spec-usual",
]
PAGES = {
    MANAGER: OFFICE,
    MECHANIC: SHOP,
    DESK: FLOOR,
    SURVEYOR: [
        *READ,
        *PAST,
        *("cart-detail", "cart of none", "round-detail", "kit-detail", "bundle-detail"),
        *("speed-class-list", "stability-detail"),
    ],
}
# a box and its label are one target; links inside running text are let off (WCAG 2.2, 2.5.8)
SMALL_TARGETS = """(least) => {
    const shown = (part) => part.checkVisibility() && part.getClientRects().length > 0;
    const spread = (part) => {
        const boxes = [part, ...(part.matches("[type=checkbox], [type=radio]") ? part.labels : [])]
            .filter(shown).map((one) => one.getBoundingClientRect());
        const far = (side, pick) => pick(...boxes.map((box) => box[side]));
        return [far("right", Math.max) - far("left", Math.min),
                far("bottom", Math.max) - far("top", Math.min)];
    };
    const controls = "button, summary, select, textarea, input:not([type=hidden]), a";
    return [...document.querySelectorAll(`.work main :is(${controls})`)]
        .filter((part) => shown(part) && !part.matches("p:not(.actions) a, dd a, li a"))
        .filter((part) => Math.min(...spread(part)) < least - 0.5)
        .map((part) => `${part.tagName} ${part.name || part.innerText} ${spread(part)}`);
}"""
ONLY_FAULTS = {"resultTypes": ["violations"]}


@cache
def axe():
    return Axe()


def menu_of(page):
    page.goto("/")
    links = page.locator("nav[aria-label='Pages'] a").all()
    return [link.get_attribute("href") for link in links]


def faults_of(page, url, axe_at):
    """Return what is wrong with a page, in words, at a phone's size and at a desk's."""
    page.complaints.clear()
    page.set_viewport_size(SIZES["phone"])
    answer = page.goto(url)
    faults = [] if answer.status == 200 else [f"answered {answer.status}"]
    for name, size in SIZES.items():
        page.set_viewport_size(size)
        faults += [f"{name}: {fault}" for fault in _at_this_size(page, name in axe_at)]
    return [*faults, *page.complaints]


def _at_this_size(page, by_axe):
    found = _violations(page) if by_axe else []
    wide = page.evaluate("() => document.documentElement.scrollWidth")
    return [
        *[_words(fault) for fault in found if fault["impact"] in ("serious", "critical")],
        *([] if wide <= page.viewport_size["width"] else [f"{wide} px wide"]),
        *[f"too small: {target}" for target in page.evaluate(SMALL_TARGETS, TARGET_PX)],
    ]


def _violations(page):
    """Return what axe finds; it is sent once to each page, though it looks at two sizes."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(axe().axe_script)
    run = "async (options) => (await axe.run(document, options)).violations"
    return page.evaluate(run, ONLY_FAULTS)


def _words(fault):
    return f"{fault['id']}: {[node['target'] for node in fault['nodes']]}"


@pytest.mark.parametrize("role", Role.values)
def test_pages_of_a_role_fit_break_no_policy_and_are_accessible(fleet, signed_in, role):
    page = signed_in(role)
    menu = menu_of(page)
    urls = dict.fromkeys([*menu, *(fleet.urls[name] for name in PAGES[role])])
    # the others are shown less of the manager's pages: there axe looks at those of the menu
    axed = {url: ["phone"] for url in (urls if role == MANAGER else menu)}
    axed |= dict.fromkeys(menu, SIZES) if role == MANAGER else {}

    faults = {url: faults_of(page, url, axed.get(url, ())) for url in urls}

    assert len(menu) >= 2
    assert {url: wrong for url, wrong in faults.items() if wrong} == {}


def test_the_walk_sees_what_is_wrong(signed_in):
    page = signed_in(MECHANIC)
    page.route("**/round/", _broken)

    faults = faults_of(page, "/harbour/round/", SIZES)

    assert faults[0].startswith("phone: image-alt")
    assert any("px wide" in fault for fault in faults)
    assert any(fault.startswith("desk: too small: BUTTON Save") for fault in faults)
    assert "Content Security Policy" in faults[-1]


def _broken(route):
    body = (
        '<!doctype html><html lang="en"><title>Broken</title><body class="work">'
        '<script>window.broken = 1</script><link rel="stylesheet" href="/static/shared/page.css">'
        f'<main><h1>Broken</h1><img src="/none.png"><pre>{"wide " * 200}</pre>'
        "<button>Save</button></main>"
    )
    policy = {"Content-Security-Policy": "default-src 'self'; img-src data:"}
    route.fulfill(body=body, content_type="text/html", headers=policy)
