"""Round and Pack without a connection: nothing is lost, nothing is recorded twice, and what waits is always seen."""

import re

import pytest

FRIDGE = "/round/Fridge%201"
PACK = "/pack/37"


@pytest.fixture
def see(chromium):
    """Playwright's patient look at a page."""
    from playwright.sync_api import expect

    return expect


def at_fridge(page, served, see):
    """A telephone at the fridge that has all it needs for the boxes there."""
    page.goto(f"{served.url}{FRIDGE}")
    see(page.locator("#ready")).to_have_text(re.compile(r"(\d+) of \1 boxes"), timeout=30_000)
    see(page.locator("html")).to_be_attached()
    page.wait_for_timeout(300)
    controlled(page)


def controlled(page):
    """Wait until the worker has taken the pages of this device over; a busy computer takes its time for the first."""
    for _ in range(240):
        if page.evaluate("() => Boolean(navigator.serviceWorker.controller)"):
            return
        page.wait_for_timeout(250)
    raise AssertionError("the worker never took over")


def check(page, box, mass, look):
    """One box: number, mass, look, answer."""
    page.locator("#f-box").fill(box)
    page.keyboard.press("Enter")
    page.locator("#f-mass").fill(mass)
    page.locator("label.look", has_text=look).click()
    page.get_by_role("button", name="Answer").click()


def weighings(served, find="37"):
    return [(row["mass_kg"], row["look"]) for row in served.holds()[find].get("weighings", ())]


def patient(page, act, wanted, tries=80):
    """Wait until what a function gives is as wanted."""
    for _ in range(tries):
        if act() == wanted:
            return
        page.wait_for_timeout(250)
    assert act() == wanted


def unsent(page):
    """What this device has not sent, by its own store."""
    return page.evaluate(
        """async () => (await import("/static/queue.js")).waiting().then((rows) => rows.map((row) => row.says))"""
    )


def test_a_check_made_without_a_connection_is_answered_at_once_and_sent_when_it_is_back(device, served, see):
    page = device()
    at_fridge(page, served, see)
    page.context.set_offline(True)
    check(page, "37", "13,052", "right")
    see(page.locator("#answer .verdict")).to_contain_text("WCR26-B1-U")
    see(page.locator("#unsent")).to_contain_text("1 not sent yet")
    assert weighings(served) == []
    page.context.set_offline(False)
    patient(page, lambda: weighings(served), [(13.052, "right")])
    see(page.locator("#unsent")).to_be_hidden()
    see(page.locator("#answer-note")).to_contain_text("Recorded")
    assert page.errors == []


def test_what_was_done_survives_the_page_being_closed_and_goes_in_order_once(device, served, see):
    page = device()
    at_fridge(page, served, see)
    page.context.set_offline(True)
    check(page, "37", "13.052", "right")
    see(page.locator("#unsent")).to_contain_text("1 not sent yet")
    check(page, "37", "13.0515", "right")
    see(page.locator("#unsent")).to_contain_text("2 not sent yet")
    page.close()
    again = page.context.new_page()
    again.goto(f"{served.url}{FRIDGE}")
    see(again.locator("h1")).to_have_text("Fridge 1")
    see(again.locator("#unsent")).to_contain_text("2 not sent yet")
    check(again, "B1", "13,051", "dripping")
    see(again.locator("#answer .verdict")).to_contain_text("Act")
    see(again.locator("#unsent")).to_contain_text("3 not sent yet")
    again.close()
    last = page.context.new_page()
    page.context.set_offline(False)
    last.goto(f"{served.url}/finds")
    patient(last, lambda: weighings(served), [(13.052, "right"), (13.0515, "right"), (13.051, "dripping")])
    patient(last, lambda: unsent(last), [])
    assert len(served.events("box.weighed.1")) == 3


def test_the_answer_that_got_lost_on_its_way_back_makes_no_second_weighing(device, served, see):
    page = device()
    at_fridge(page, served, see)
    lost = []

    def lose_the_answer(route):
        if len(lost) < 2:
            lost.append(route.request.headers["idempotency-key"])
            route.fetch()
            route.abort()
        else:
            route.continue_()

    page.context.route("**/api/v1/bench/checks", lose_the_answer)
    check(page, "37", "13.052", "right")
    patient(page, lambda: len(lost), 2)
    patient(page, lambda: unsent(page), [], tries=160)
    assert lost[0] == lost[1]
    assert weighings(served) == [(13.052, "right")]


def test_a_double_tap_on_a_slow_line_is_one_weighing(device, served, see):
    page = device()
    at_fridge(page, served, see)
    page.context.route("**/api/v1/bench/checks", lambda route: (page.wait_for_timeout(700), route.continue_()))
    page.locator("#f-box").fill("37")
    page.keyboard.press("Enter")
    page.locator("#f-mass").fill("13.052")
    page.locator("label.look", has_text="right").click()
    page.evaluate("() => { const b = document.querySelector('#check-form [type=submit]'); b.click(); b.click(); }")
    patient(page, lambda: weighings(served), [(13.052, "right")])
    patient(page, lambda: unsent(page), [])
    assert len(served.events("box.weighed.1")) == 1


def tapped_at_once(page, count, times=1):
    """The first ticks tapped in one go, before this device has kept any of them."""
    page.evaluate(
        """([count, times]) => {
          for (const button of [...document.querySelectorAll(".tick-button")].slice(0, count))
            for (let tap = 0; tap < times; tap += 1) button.click();
        }""",
        [count, times],
    )


def test_a_device_without_thresholds_says_that_it_did_not_check_and_asks_about_a_slip(device, served, see):
    page = device()
    at_fridge(page, served, see)
    page.evaluate("""async () => (await import("/static/queue.js")).clear("kits")""")
    page.context.set_offline(True)
    check(page, "37", "13052", "right")
    see(page.locator(".question")).to_contain_text("Was it 13052 g?")
    page.get_by_role("button", name="Yes, 13052 g").click()
    see(page.locator("#answer .verdict")).to_contain_text("Not checked here")
    see(page.locator("#answer")).to_contain_text("It is kept; the answer follows")
    page.context.set_offline(False)
    patient(page, lambda: weighings(served), [(13.052, "right")])
    see(page.locator("#answer")).to_contain_text("planned checks were missed")


def test_an_answer_that_comes_late_follows_to_the_next_page_until_it_is_read(device, served, see):
    page = device()
    at_fridge(page, served, see)
    page.evaluate("""async () => (await import("/static/queue.js")).clear("kits")""")
    page.context.set_offline(True)
    check(page, "37", "18", "right")
    page.get_by_role("button", name="Record 18 kg").click()
    see(page.locator("#answer .verdict")).to_contain_text("Not checked here")
    page.locator("#f-box").fill("37")
    page.keyboard.press("Enter")
    see(page.locator("#check")).to_be_visible()
    page.context.set_offline(False)
    see(page.locator("#late")).to_contain_text("Act: WCR26-B1-U", timeout=30_000)
    see(page.locator("#check")).to_be_visible()
    page.goto(f"{served.url}/finds")
    see(page.locator("#late")).to_contain_text("38% heavier than planned")
    page.get_by_role("link", name="Read what to do").click()
    see(page.locator("#answers-list")).to_contain_text("Weigh it again")
    page.get_by_role("button", name="I have read it").click()
    see(page.locator("#late")).to_have_count(0)
    page.goto(f"{served.url}/finds")
    page.wait_for_timeout(500)
    assert page.locator("#late").count() == 0
    assert page.errors == []


def test_ticks_tapped_at_once_without_a_connection_are_all_kept_in_order_and_a_double_tap_is_one(device, served, see):
    page = device()
    page.goto(f"{served.url}{PACK}")
    controlled(page)
    page.wait_for_timeout(800)
    page.context.set_offline(True)
    tapped_at_once(page, 6, times=2)
    see(page.locator("#unsent")).to_contain_text("6 not sent yet")
    see(page.locator("#progress")).to_contain_text("6 of ")
    assert [says.rsplit(" ", 1)[1] for says in unsent(page)] == ["1", "2", "3", "4", "5", "6"]
    page.context.set_offline(False)
    patient(page, lambda: [tick["step"] for tick in served.holds()["37"].get("ticks", ())], [1, 2, 3, 4, 5, 6])
    assert page.errors == []


def test_ticks_of_two_devices_made_at_once_without_a_connection_both_stand(device, served, see):
    one, other = device("Marian Holt"), device("Idris Penhale")
    for page in (one, other):
        page.goto(f"{served.url}{PACK}")
        controlled(page)
        page.wait_for_timeout(800)
        page.context.set_offline(True)
        tapped_at_once(page, 2)
        see(page.locator("#unsent")).to_contain_text("2 not sent yet")
        see(page.locator("#progress")).to_contain_text("2 of ")
    for page in (one, other):
        page.context.set_offline(False)
    patient(one, lambda: len(served.holds()["37"].get("ticks", ())), 4)
    ticks = served.holds()["37"]["ticks"]
    assert sorted((tick["step"], tick["by"]) for tick in ticks) == [
        (1, "Idris Penhale"),
        (1, "Marian Holt"),
        (2, "Idris Penhale"),
        (2, "Marian Holt"),
    ]
    one.reload()
    see(one.locator(".step").first.locator(".ticked")).to_contain_text("Idris Penhale")
    see(one.locator(".step").first.locator(".ticked")).to_contain_text("Marian Holt")


def test_a_tick_and_its_undoing_without_a_connection_go_in_order(device, served, see):
    page = device()
    page.goto(f"{served.url}{PACK}")
    controlled(page)
    page.wait_for_timeout(800)
    page.context.set_offline(True)
    page.locator(".tick-button").first.click()
    page.locator(".step").first.get_by_role("button", name="Undo").click()
    see(page.locator(".step").first.locator(".ticked")).to_contain_text("taken back by Marian Holt")
    see(page.locator("#progress")).to_contain_text("0 of ")
    page.reload()
    see(page.locator(".step").first.locator(".ticked")).to_contain_text("taken back by Marian Holt")
    page.context.set_offline(False)
    patient(page, lambda: [event.word for event in served.events("hold.step.undone.1")], ["hold.step.undone.1"])
    (tick,) = served.holds()["37"]["ticks"]
    assert tick["undone_by"] == "Marian Holt"


def test_what_the_ledger_refuses_is_kept_and_told_and_holds_up_nothing(device, served, see):
    page = device()
    at_fridge(page, served, see)
    page.context.set_offline(True)
    page.evaluate(
        """async () => {
          const bench = await import("/static/bench.js");
          await bench.done("/bench/checks", { box: "B99", mass: "3 kg", look: "right" }, { says: "B99: 3 kg" });
        }"""
    )
    check(page, "37", "13.052", "right")
    page.context.set_offline(False)
    patient(page, lambda: weighings(served), [(13.052, "right")])
    see(page.locator("#unsent")).to_contain_text("1 could not be recorded")
    page.goto(f"{served.url}/unsent")
    see(page.locator("#queue")).to_contain_text("B99: 3 kg")
    see(page.locator("#queue")).to_contain_text("there is no box called 'B99'")
    page.on("dialog", lambda dialog: dialog.accept())
    page.get_by_role("button", name="Take it off the list").click()
    see(page.locator("#queue-empty")).to_be_visible()
    see(page.locator("#unsent")).to_be_hidden()


def test_signing_out_with_something_unsent_warns_and_another_person_does_not_send_it(device, served, see):
    page = device()
    at_fridge(page, served, see)
    page.context.set_offline(True)
    check(page, "37", "13.052", "right")
    see(page.locator("#unsent")).to_contain_text("1 not sent yet")
    page.context.route("**/api/v1/bench/checks", lambda route: route.abort())
    page.context.set_offline(False)
    asked = []
    page.on("dialog", lambda dialog: (asked.append(dialog.message), dialog.accept()))
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url(f"{served.url}/sign-in")
    assert "One thing done here is not sent yet" in asked[0]
    page.context.unroute("**/api/v1/bench/checks")
    page.get_by_role("button", name="Idris Penhale").click()
    see(page.locator("#unsent")).to_contain_text("done by Marian Holt")
    assert weighings(served) == []
    page.get_by_role("button", name="Sign out").click()
    page.get_by_role("button", name="Marian Holt").click()
    patient(page, lambda: weighings(served), [(13.052, "right")])
    (row,) = served.holds()["37"]["weighings"]
    assert row["person"] == "Marian Holt"


def test_the_time_is_when_it_was_done_and_a_wrong_clock_is_put_right_and_told(device, served, see):
    page = device()
    at_fridge(page, served, see)
    page.clock.set_system_time("2026-08-03T11:30:00+01:00")
    page.context.set_offline(True)
    check(page, "37", "13.052", "right")
    page.wait_for_timeout(1500)
    page.context.set_offline(False)
    patient(page, lambda: weighings(served), [(13.052, "right")])
    (row,) = served.holds()["37"]["weighings"]
    assert row["clock"]["put_right"] is True
    assert 8500 < row["clock"]["ahead_s"] < 9100
    assert row["clock"]["seen"].startswith("2026-08-03T11:30")
    assert row["at"].startswith("2026-08-03T09:0")
    assert row["clock"]["device"].startswith("device-")


def test_a_page_not_kept_says_what_goes_on_without_a_connection(device, served, see):
    page = device()
    at_fridge(page, served, see)
    page.context.set_offline(True)
    page.goto(f"{served.url}/settings")
    see(page.locator("h1")).to_have_text("No connection")
    see(page.locator("#sheet")).to_contain_text("Today, Finds and a find's sheet")
    see(page.locator("#ready-here")).to_contain_text("Round of Fridge 1")
    page.get_by_role("link", name="Round").last.click()
    see(page.locator("h1")).to_have_text("Round")
    assert page.errors == []


def test_a_find_never_opened_here_says_so_without_a_connection_and_can_be_made_ready(device, served, see):
    page = device()
    at_fridge(page, served, see)
    page.context.set_offline(True)
    page.goto(f"{served.url}{PACK}")
    see(page.locator("#meant")).to_contain_text("Find 37 was not opened on this device before")
    page.context.set_offline(False)
    page.goto(f"{served.url}/unsent")
    page.get_by_role("button", name="Make every round and find at the bench ready").click()
    see(page.locator("#make-ready-says")).to_have_text("Ready.", timeout=60_000)
    see(page.locator("#ready-here")).to_contain_text("Round of Fridge 2")
    page.context.set_offline(True)
    for path, words in (
        (PACK, "jar, hand-made"),
        ("/pack/44", "knife in soil block"),
        ("/round/Fridge%202", "Fridge 2"),
    ):
        page.goto(f"{served.url}{path}")
        see(page.locator("h1")).to_contain_text(words)
    assert page.errors == []


def test_the_back_button_closes_the_box_and_sends_nothing(device, served, see):
    page = device()
    at_fridge(page, served, see)
    page.locator("#f-box").fill("37")
    page.keyboard.press("Enter")
    see(page.locator("#check")).to_be_visible()
    page.go_back()
    see(page.locator("#check")).to_be_hidden()
    see(page.locator("#scan")).to_be_visible()
    check(page, "37", "13.052", "right")
    patient(page, lambda: weighings(served), [(13.052, "right")])
    page.go_back()
    page.wait_for_timeout(500)
    assert len(served.events("box.weighed.1")) == 1
