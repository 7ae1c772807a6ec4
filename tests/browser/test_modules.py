"""The client's plain modules, imported in the page: plugging, words, figures."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser

from support.phone import Phone, a_body, phone_on
from support.service import Service

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def phone(browser: Browser, server: Service) -> Iterator[Phone]:
    """One page for all: the modules tried here keep nothing."""
    with phone_on(browser, server.url) as one:
        one.open()
        yield one


def test_free_names_count_upward(phone: Phone) -> None:
    names = phone.run("layout", 'return [m.freeName("2k", []), m.freeName("2k", ["2k", "2k 2"])];')
    assert names == ["2k", "2k 3"]


def test_a_removed_board_lays_its_lamps_on_the_table_and_takes_its_children_along(
    phone: Phone,
) -> None:
    body = a_body(
        {"id": "a", "fixture": "x", "outlet": "l1-top"},
        {"id": "b", "fixture": "x", "board": "way", "outlet": "1"},
        boards=[
            {"id": "main", "type": "t", "fed_from": None},
            {"id": "sub", "type": "t", "fed_from": {"board": "main", "outlet": "o"}},
            {"id": "way", "type": "t", "fed_from": {"board": "sub", "outlet": "o"}},
        ],
    )

    after = phone.run("layout", 'return m.removeBoard(v[0], "sub");', body)

    assert [board["id"] for board in after["boards"]] == ["main"]
    assert after["loads"][1] == {"id": "b", "fixture": "x"}
    assert after["loads"][0]["outlet"] == "l1-top"


def test_a_renamed_board_is_followed_by_all_that_names_it(phone: Phone) -> None:
    body = a_body(
        {"id": "a", "fixture": "x", "outlet": "l1-top"},
        boards=[
            {"id": "main", "type": "t", "fed_from": None},
            {"id": "sub", "type": "t", "fed_from": {"board": "main", "outlet": "o"}},
        ],
    )
    after = phone.run("layout", 'return m.renameBoard(v[0], "main", "truck");', body)
    assert after["boards"][1]["fed_from"]["board"] == "truck"
    assert after["loads"][0]["board"] == "truck"
    # A name that is taken changes nothing.
    assert phone.run("layout", 'return m.renameBoard(v[0], "main", "sub");', body) == body


def test_edits_leave_the_layout_before_untouched(phone: Phone) -> None:
    body = a_body({"id": "a", "fixture": "x", "outlet": "l1-top"})
    kept = phone.run(
        "layout",
        """const before = JSON.stringify(v[0]); const freeze = (o) => {
          Object.values(o).forEach((x) => x && typeof x === "object" && freeze(x));
          return Object.freeze(o);
        };
        const layout = freeze(v[0]);
        m.plug(layout, "a", "main", "l2-top"); m.unplug(layout, "a"); m.addSetup(layout, "s");
        m.changeLoad(layout, "a", { count: 3 }); m.removeLoad(layout, "a");
        m.addBoard(layout, { type: "t", fedFrom: null, stem: "t" }); m.removeBoard(layout, "main");
        return JSON.stringify(layout) === before;""",
        body,
    )
    assert kept


def test_on_in_every_set_up_is_said_by_naming_none(phone: Phone) -> None:
    body = a_body(
        {"id": "a", "fixture": "x", "outlet": "l1-top"}, setups=[{"id": "wide"}, {"id": "close"}]
    )
    off = phone.run("layout", 'return m.switchLoad(v[0], "a", "wide", false);', body)
    assert off["loads"][0]["setups"] == ["close"]
    on = phone.run("layout", 'return m.switchLoad(v[0], "a", "wide", true);', off)
    assert "setups" not in on["loads"][0]


def test_a_removed_set_up_is_forgotten_by_the_lamps(phone: Phone) -> None:
    body = a_body(
        {"id": "a", "fixture": "x", "outlet": "l1-top", "setups": ["wide"]},
        setups=[{"id": "wide"}, {"id": "close"}],
    )
    after = phone.run("layout", 'return m.removeSetup(v[0], "wide");', body)
    assert after["loads"][0]["setups"] == []
    none = phone.run("layout", 'return m.removeSetup(v[0], "close");', after)
    assert "setups" not in none
    assert "setups" not in none["loads"][0]


def test_another_board_type_keeps_what_its_outlets_have_room_for(phone: Phone) -> None:
    body = a_body(
        {"id": "a", "fixture": "x", "outlet": "kept"}, {"id": "b", "fixture": "x", "outlet": "gone"}
    )
    after = phone.run(
        "layout", 'return m.changeBoardType(v[0], "main", "other", [{ id: "kept" }]);', body
    )
    assert after["boards"][0]["type"] == "other"
    assert [load.get("outlet") for load in after["loads"]] == ["kept", None]


def test_a_lines_colour_follows_a_rolled_feeder_and_a_one_line_outlet(phone: Phone) -> None:
    boards = [
        {"id": "main", "outlets": [{"id": "five", "lines": ["L1", "L2", "L3"]}], "fed_from": None},
        {
            "id": "rolled",
            "outlets": [{"id": "one", "lines": ["L2"]}],
            "fed_from": {"board": "main", "outlet": "five", "phase_order": ["L2", "L3", "L1"]},
        },
        {"id": "strip", "outlets": [], "fed_from": {"board": "rolled", "outlet": "one"}},
    ]
    lines = phone.run(
        "layout",
        """const of = (board, line) => m.supplyLine(v[0], new Map(), board, line);
        return [of("main", "L1"), of("rolled", "L1"), of("rolled", "L3"), of("strip", "L1")];""",
        a_body(boards=boards),
    )
    # Rolled by one: its L1 is the supply's L2, its L2 the supply's L3.
    assert lines == ["L1", "L2", "L1", "L3"]


def test_only_what_a_layout_can_hold_of_a_remedy_is_offered(phone: Phone) -> None:
    body = a_body(
        {"id": "a", "fixture": "x", "outlet": "l1-top"},
        boards=[
            {
                "id": "main",
                "type": "t",
                "fed_from": None,
                "feeder": {"cable": "c", "csa_mm2": 4, "length_m": 9, "laid": "coiled",
                           "coil_layers": 2, "neutral_csa_mm2": 2.5},
            }
        ],
    )  # fmt: skip
    mend = "return m.mended(v[0], v[1]);"
    move = {"kind": "move", "load": "a", "board": "main", "outlet": "l3-top"}
    lay_out = {"kind": "lay-out", "board": "main", "load": None}
    thicker = {"kind": "resize", "board": "main", "load": None, "csa_mm2": 6}
    order = {"kind": "start-in-order", "groups": [["a"]]}

    assert phone.run("layout", mend, body, [move])["loads"][0]["outlet"] == "l3-top"
    run = phone.run("layout", mend, body, [lay_out, thicker])["boards"][0]["feeder"]
    assert run == {"cable": "c", "csa_mm2": 6, "length_m": 9, "laid": "surface"}
    assert phone.run("layout", mend, body, [order]) is None
    assert phone.run("layout", mend, body, [move, order]) is None
    assert phone.run("layout", mend, body, []) is None


def test_loose_lamps_are_left_out_of_what_is_posted(phone: Phone) -> None:
    body = a_body({"id": "a", "fixture": "x", "outlet": "l1-top"})
    body["loads"].append({"id": "b", "fixture": "x"})
    assert [
        load["id"] for load in phone.run("layout", "return m.forPosting(v[0]).loads;", body)
    ] == ["a"]


def test_a_pointer_becomes_a_path_of_names_even_with_slashes_in_them(phone: Phone) -> None:
    body = a_body({"id": "a/b ~", "fixture": "x", "outlet": "l1-top"})
    # RFC 6901: ~1 stands for /, ~0 for ~.
    paths = phone.run(
        "layout",
        """return [m.namedPath(v[0], "/loads/0/fixture"), m.path("loads", "a/b ~", "fixture"),
          ...["/odd~1name", "/loads/7/x", ""].map((pointer) => m.namedPath(v[0], pointer))];""",
        body,
    )
    assert paths[0] == paths[1]
    assert paths[2:] == ["odd%2Fname", "loads/7/x", ""]


@pytest.mark.parametrize(
    "document",
    [
        None,
        7,
        [],
        {},
        {"supply": {}, "boards": {}},
        {"supply": None, "boards": []},
        {"supply": {}, "boards": [{"id": 3}]},
        {"supply": {}, "boards": [{"id": "a", "outlets": [{"id": "o", "lines": "L1"}]}]},
        {"supply": {}, "boards": [{"id": "a", "fed_from": "main"}]},
        {"supply": {}, "boards": [], "loads": [None]},
        {"supply": {}, "boards": [], "loads": [{"id": "a", "setups": "wide"}]},
        {"supply": {}, "boards": [], "setups": ["wide"]},
    ],
)
def test_what_has_not_the_shape_of_a_layout_is_not_taken_for_one(
    phone: Phone, document: object
) -> None:
    assert phone.run("layout", "return m.asLayout(v[0]);", document) is None


def test_numbers_are_read_as_crews_type_them(phone: Phone) -> None:
    typed = ["230", " 2,5 ", "1 200", "", "twelve", "1.2.3", "-4", "1e3", ".5"]
    read = phone.run(
        "format",
        'return v[0].map(m.typedNumber).map((n) => (Number.isNaN(n) ? "no number" : n));',
        typed,
    )
    assert read == [230, 2.5, 1200, None, "no number", "no number", -4, "no number", 0.5]


def test_amps_are_rounded_as_a_clamp_meter_shows_them(phone: Phone) -> None:
    shown = phone.run("format", "return v[0].map(m.amps);", [0, 0.434, 8.6957, 203.64, None])
    assert shown == ["0.0", "0.43", "8.7", "203.6", "–"]


def test_an_age_is_coarse_enough_to_be_read(phone: Phone) -> None:
    seconds = [0, 17, 59, 61, 7200, 200_000]
    ages = phone.run("format", "return v[0].map((s) => m.age(0, s * 1000));", seconds)
    assert ages == ["just now", "15 s ago", "55 s ago", "1 min ago", "2 h ago", "2 days ago"]


def test_every_word_that_is_asked_for_is_in_the_catalogue(phone: Phone) -> None:
    missing = phone.run("text", 'return m.t("no.such.key");')
    # A key that is not there shows itself: that is how the next assertion would see one.
    assert missing == "no.such.key"
    keys = phone.run(
        "text",
        """const files = ["main", "link", "format", "theme", "worksheet", "deeds",
          ...["around", "board", "burn", "cautions", "clash", "demos", "feeder", "figures",
              "handover", "join", "lamp", "lamps", "load", "log", "meter", "outlet", "plan",
              "boardsthatdo", "planresult", "plansteps", "readings", "search", "setups", "share",
              "sharedbar",
              "start", "supply", "who"].map((n) => `screens/${n}`),
          ...["chart", "compare", "conductor", "face", "field", "findings", "gauges", "severity",
              "service", "sheet", "stepper", "verdict"].map((n) => `parts/${n}`)];
        const asked = new Set();
        for (const file of files) {
          const code = await (await fetch(`/js/${file}.js`)).text();
          for (const [, key] of code.matchAll(/\\bt\\(\\s*"([^"]+)"/g)) asked.add(key);
        }
        return [[...asked].length, [...asked].filter((key) => m.t(key) === key)];""",
    )
    assert keys[0] > 100
    assert keys[1] == []


PLACES = {"a": "l1-top", "b": "l2-top", "c": "l3-top", "d": None, "e": "l1-top"}


@pytest.mark.parametrize(
    ("edits", "ops"),
    [
        ("x = l.plug(x, 'a', 'main', 'l1-middle')", ["move"]),
        ("x = l.plug(x, 'd', 'main', 'l1-middle')", ["plug"]),
        ("x = l.unplug(x, 'a')", ["unplug"]),
        ("x = l.swap(x, 'b', 'c')", ["swap"]),
        # Three in a ring: one has to come out first.
        (
            "const at = (i) => x.loads[i].outlet; const [b, c] = [at(1), at(2)];"
            "x = l.plug(l.plug(l.plug(x, 'b', 'main', c), 'c', 'main', 'l2-middle'),"
            " 'd', 'main', b);",
            ["move", "move", "plug"],
        ),
        ("x = l.plug(x, 'd', 'main', 'l2-top')", ["plug"]),
        ("x = l.removeLoad(x, 'a')", ["remove"]),
        ("x = l.addLoad(x, { fixture: 'f', board: 'main', outlet: 'l2-middle' })[0]", ["add"]),
        ("x = l.changeLoad(x, 'a', { dimmed_to: 0.5, count: 3, name: 'sun' })", None),
        (
            "x = l.addBoard(x, { type: 't', stem: 's', fedFrom: { board: 'main',"
            " outlet: 'l2-top' } })[0]; x = l.plug(x, 'b', 's', '1');",
            ["move", "add-board"],
        ),
        ("x = l.renameBoard(x, 'main', 'truck')", None),
        ("x = l.addSetup(x, 'night')[0]", ["set-layout"]),
        ("x = { ...x, ambient_c: 35 }", ["set-layout"]),
    ],
)
def test_what_differs_between_two_layouts_leads_from_one_to_the_other_and_back(
    phone: Phone, edits: str, ops: list[str] | None
) -> None:
    """Each change must be one that the service makes: the phone's own rules are the service's."""
    loads = [
        {"id": name, "fixture": "f"} | ({"board": "main", "outlet": place} if place else {})
        for name, place in PLACES.items()
    ]
    body = a_body()
    body["loads"] = loads
    made = phone.run(
        "changes",
        f"""const l = await import('/js/layout.js'); let x = v[0]; {edits};
        const [one, other] = [{{ layout: v[0], burning: null }}, {{ layout: x, burning: "wide" }}];
        const there = m.differences(one, other); const back = m.differences(other, one);
        const plain = (s) => JSON.stringify([m.sorted(s.layout.loads.toSorted((p, q) =>
          p.id < q.id ? -1 : 1)), m.sorted(s.layout.boards), s.layout.setups ?? null, s.burning]);
        return [there.map((c) => c.op), plain(m.applied(one, there)) === plain(other),
          plain(m.applied(other, back)) === plain(one), m.differences(one, one)];""",
        body,
    )

    # The set-up that burns is switched last of all.
    assert made[0][-1] == "burning"
    if ops is not None:
        assert made[0][:-1] == ops
    assert made[1:] == [True, True, []]


def test_a_change_that_found_something_else_leaves_all_as_it_is_until_it_is_forced(
    phone: Phone,
) -> None:
    body = a_body(
        {"id": "key", "fixture": "f", "outlet": "l1-top"},
        {"id": "fill", "fixture": "f", "outlet": "l2-top"},
    )
    to = {"board": "main", "outlet": "l2-top"}
    move = {"op": "move", "load": "key", "from": {"board": "main", "outlet": "l1-top"}, "to": to}
    gone = {"op": "plug", "load": "sun", "to": to}
    told = phone.run(
        "changes",
        """const before = { layout: v[0], burning: null };
        const places = (s) => s.layout.loads.map((l) => [l.id, l.outlet ?? null]);
        return [m.applied(before, [v[1]]) === before, places(m.forced(before, [v[1]])),
          places(m.forced(before, [v[2]], { loads: [{ id: "sun", fixture: "f" }] }))];""",
        body,
        move,
        gone,
    )

    assert told[0]
    assert told[1] == [["key", "l2-top"], ["fill", None]]
    # One that was taken off the list meanwhile comes back.
    assert told[2] == [["key", "l1-top"], ["fill", None], ["sun", "l2-top"]]


def test_counting_words_follow_the_number(phone: Phone) -> None:
    words = phone.run("text", 'return [1, 2].map((n) => m.t("verdict.loose", { n }));')
    assert words == [
        "1 lamp on the table is not counted.",
        "2 lamps on the table are not counted.",
    ]
