"""Forms in the hands of people: tapped twice, gone back to, sent from two devices, over a slow network."""

import time

import pytest

LABELLED, WEIGHED = "hold.labelled.1", "box.weighed.1"
SLOW = {"offline": False, "latency": 400, "downloadThroughput": 20_000, "uploadThroughput": 10_000}
"""A weak signal behind a cold store's door: 400 ms, 160 kbit/s down, 80 kbit/s up."""

BUSY = """() => document.addEventListener('submit', event =>
  sessionStorage.setItem('busy', event.target.getAttribute('aria-busy')))"""


def to_weigh(page, served, box="B1"):
    """A box's form in a round, filled in."""
    page.goto(f"{served.url}/round/Fridge%201?box={box}")
    page.get_by_label("Mass").fill("13.04")
    page.locator("label.look", has_text="right").click()
    return page.get_by_role("button", name="Answer")


def count(served, word):
    return len(served.events(word))


def wait_for(served, word, number):
    """A device answers at once and sends behind its answer."""
    for _ in range(100):
        if count(served, word) >= number:
            return
        time.sleep(0.1)


@pytest.mark.parametrize("scripted", [True, False])
def test_a_button_tapped_twice_records_once(device, chromium, served, scripted):
    page = device()
    if not scripted:
        context = chromium.new_context(java_script_enabled=False, storage_state=page.context.storage_state())
        page = context.new_page()
    page.goto(f"{served.url}/finds/37")
    with page.expect_response(lambda answer: answer.url.endswith("/labels")):
        page.get_by_role("button", name="Make labels").dblclick(no_wait_after=True)
    page.goto(f"{served.url}/finds/37")
    assert "made and read back" in page.content()
    assert count(served, LABELLED) == 1


@pytest.mark.parametrize("scripted", [True, False])
def test_back_after_an_answer_does_not_record_it_again(device, chromium, served, scripted):
    page = device()
    if not scripted:
        context = chromium.new_context(java_script_enabled=False, storage_state=page.context.storage_state())
        page = context.new_page()
    to_weigh(page, served).click()
    page.locator(".verdict").first.wait_for()
    wait_for(served, WEIGHED, 1)
    page.reload()
    page.go_back()
    # The form comes empty from the computer, or as it was, with the key that was used: neither records again.
    if page.get_by_role("button", name="Answer").is_visible():
        page.get_by_role("button", name="Answer").click(no_wait_after=True)
    page.goto(f"{served.url}/finds/37")
    assert page.locator(".weighings tbody tr").count() == 1
    assert count(served, WEIGHED) == 1


def test_two_devices_at_one_box_both_count_and_each_sees_the_other(device, served):
    one, other = device("Marian Holt"), device("Saffron Ode")
    buttons = [to_weigh(page, served) for page in (one, other)]
    for button in buttons:
        button.click(no_wait_after=True)
    for page in (one, other):
        page.locator(".verdict").first.wait_for()
    wait_for(served, WEIGHED, 2)
    assert sorted(event.person for event in served.events(WEIGHED)) == ["Marian Holt", "Saffron Ode"]
    one.goto(f"{served.url}/finds/37")
    table = one.locator(".weighings").inner_text()
    assert "Marian Holt" in table
    assert "Saffron Ode" in table


def test_over_a_slow_network_the_page_is_there_and_says_that_it_is_at_work(device, served):
    page = device()
    network = page.context.new_cdp_session(page)
    network.send("Network.enable")
    network.send("Network.emulateNetworkConditions", SLOW)
    page.goto(f"{served.url}/finds/37")
    page.evaluate(BUSY)
    page.get_by_role("button", name="Make labels").click()
    page.wait_for_url("**/labels.pdf")
    network.send("Network.emulateNetworkConditions", {**SLOW, "latency": 0, "downloadThroughput": -1})
    page.goto(f"{served.url}/finds/37")
    assert page.evaluate("sessionStorage.getItem('busy')") == "true"
    assert count(served, LABELLED) == 1
    assert page.errors == []
