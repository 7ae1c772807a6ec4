"""The desk's equipment in the client: out, back, the way back, lists, labels, two desks."""

from __future__ import annotations

import io
import re
import uuid
from datetime import date
from pathlib import Path
from urllib.parse import quote

import pytest
from PIL import Image
from playwright.sync_api import expect

from support.desk_pages import Desk, piece_place, sign_in
from support.equipment import a_body_piece
from support.phone import Phone

pytestmark = pytest.mark.browser


@pytest.fixture
def tag() -> str:
    """A tag that no other test has, with a slash in it."""
    return f"C-{uuid.uuid4().hex[:8]}/1"


def a_photo() -> bytes:
    """A picture as a phone takes it, larger than the service keeps one."""
    made = io.BytesIO()
    Image.linear_gradient("L").resize((3000, 2000)).convert("RGB").save(made, "JPEG")
    return made.getvalue()


def test_a_piece_comes_back_deformed_and_returns_only_by_cause_and_test(
    phone: Phone, desk: str, elsewhere: Desk, tag: str
) -> None:
    elsewhere.piece(a_body_piece(tag))
    order = f"H-{tag[2:6]}"
    elsewhere.order(order, production="Tin Roof")
    sign_in(phone, desk, f"#/order/{order}")
    phone.page.get_by_label("Tag of the piece").fill(tag)
    phone.button("Check out").tap()
    expect(phone.page.get_by_text(f"{tag} went out on order {order}")).to_be_visible()

    phone.button(f"Take back {tag}").tap()
    sheet = phone.sheet()
    phone.button("Take it back with this").tap()
    expect(sheet.get_by_text("Tick “fine”, or what was found.")).to_be_visible()
    sheet.get_by_label("fine").check()
    sheet.get_by_label("deformed").check()
    expect(sheet.get_by_label("fine")).not_to_be_checked()
    chooser = sheet.locator('input[type="file"]')
    assert chooser.get_attribute("capture") == "environment"
    chooser.set_input_files({"name": "a.jpg", "mimeType": "image/jpeg", "buffer": b"no picture"})
    expect(sheet.locator(".shots .fault")).to_be_visible()
    phone.button("Take it back with this").tap()
    expect(sheet.get_by_text("A photo did not go through")).to_be_visible()
    phone.button("Leave photo 1 out").tap()
    chooser.set_input_files({"name": "b.jpg", "mimeType": "image/jpeg", "buffer": a_photo()})
    expect(sheet.locator(".shots")).to_contain_text("kept")
    phone.button("Take it back with this").tap()
    expect(phone.page.get_by_text(re.compile(f"Withdrew {tag}"))).to_be_visible()
    assert elsewhere.get(f"/v1/equipment/{tag}")["state"] == "withdrawn"

    phone.open(piece_place(tag))
    expect(phone.page.locator(".standing")).to_contain_text("Must not go out.")
    # It comes by itself, with the desk's key.
    phone.page.wait_for_function("document.querySelector('.events img')?.naturalWidth === 2048")
    # One step after the other: what comes later is not offered yet.
    expect(phone.button("Release")).to_have_count(0)
    expect(phone.button("Record a test")).to_have_count(0)
    phone.button("Record the cause").tap()
    phone.sheet().get_by_label("What made it unfit").select_option("uneven-phases")
    phone.sheet().get_by_role("button", name="Record the cause").tap()
    phone.button("Record a test").tap()
    sheet = phone.sheet()
    sheet.get_by_label("Result").select_option("yes")
    sheet.get_by_label("Competent person").fill("Kim Duty")
    phone.button("Record the test").tap()
    # The service wants the figures of a test that was passed, and says so under each.
    insulation = sheet.locator(".field", has_text="Insulation").locator(".fault")
    expect(insulation).to_contain_text("measured")
    sheet.get_by_label("Insulation").fill("200")
    sheet.get_by_label("Protective conductor").fill("0,08")
    sheet.get_by_label("Polarity").select_option("correct")
    expect(sheet.get_by_label("Competent person")).to_have_value("Kim Duty")
    phone.button("Record the test").tap()
    phone.button("Release").tap()
    phone.button("Put it back into service").tap()

    expect(phone.page.locator(".standing")).to_contain_text("May go out.")
    told = elsewhere.get(f"/v1/equipment/{tag}")
    assert (told["state"], told["tested"]["competent_person"]) == ("in-service", "Kim Duty")
    events = phone.page.locator(".events > li")
    expect(events).to_have_count(6)
    expect(events.first).to_contain_text(f"Put {tag} back into service")


def test_two_desks_at_one_piece_see_what_the_other_did(
    phone: Phone, desk: str, elsewhere: Desk, tag: str
) -> None:
    elsewhere.piece(a_body_piece(tag, note="blue tape"))
    sign_in(phone, desk, piece_place(tag))
    phone.button("Look it over").tap()
    phone.sheet().get_by_label("fine").check()
    elsewhere.happen(tag, "withdrawals", note="Smelled burnt")

    phone.button("Enter the inspection").tap()

    expect(phone.sheet()).to_contain_text("This piece was changed meanwhile")
    expect(phone.sheet()).to_contain_text("Smelled burnt")
    phone.button("Show it as it is now").tap()
    expect(phone.page.locator(".standing")).to_contain_text("Smelled burnt")

    phone.button("Change the record").tap()
    phone.page.get_by_label("Length").fill("25")
    body = a_body_piece(tag, note="red tape")
    del body["tag"]
    elsewhere.ask("PUT", f"/v1/equipment/{tag}", json=body, headers={"If-Match": "*"})
    phone.button("Save").tap()
    box = phone.page.locator(".clash")
    expect(box.get_by_label("Yours: 25")).to_be_checked()
    expect(box.get_by_label("test desk: red tape")).to_be_checked()
    phone.button("Save what is chosen").tap()

    expect(phone.button("Change the record")).to_be_visible()
    told = elsewhere.get(f"/v1/equipment/{tag}")
    assert (told["length_m"], told["note"]) == (25, "red tape")


def test_a_list_is_tried_with_every_fault_told_then_mended_and_taken_in(
    phone: Phone, desk: str, elsewhere: Desk, tag: str, tmp_path: Path
) -> None:
    sign_in(phone, desk, "#/stock")
    today = date.today().isoformat()
    text = (
        "tag,kind,cable,csa_mm2,length_m,tested_on\n"
        f"{tag},cable,h07rn-f,6,thirty,{today}\n"
        f"{tag}-b,cabel,h07rn-f,6,30,{today}\n"
    )
    file = tmp_path / "list.csv"
    file.write_text(text)
    phone.page.locator('input[type="file"]').set_input_files(file)

    expect(phone.page.get_by_role("heading", name="2 faults")).to_be_focused()
    rows = phone.page.locator(".result tbody tr")
    expect(rows.nth(0)).to_contain_text("Line 2")
    expect(rows.nth(0)).to_contain_text("length_m")
    expect(rows.nth(1)).to_contain_text("Nearest: cable")
    expect(phone.button(re.compile("Take it in"))).to_have_count(0)
    pasted = phone.page.get_by_label("Or paste its lines")
    expect(pasted).to_have_value(text)
    pasted.fill(text.replace("thirty", "30").replace("cabel", "cable"))
    phone.button("Try it").tap()
    expect(phone.page.locator(".result")).to_contain_text("New: 2. Changed: 0.")
    assert elsewhere.get(f"/v1/equipment?q={quote(tag)}")["items"] == []
    phone.button("Take it in: 2 pieces").tap()

    expect(phone.page.get_by_role("heading", name="2 lines taken in")).to_be_visible()
    assert len(elsewhere.get(f"/v1/equipment?q={quote(tag)}")["items"]) == 2
    with phone.page.expect_download() as saved:
        phone.button("Save as CSV").tap()
    assert tag in Path(saved.value.path()).read_text()
    file.write_bytes("tag,kind\nÄ-1,cable\n".encode("latin-1"))
    phone.page.locator('input[type="file"]').set_input_files(file)
    expect(phone.page.get_by_role("alert")).to_contain_text("not in UTF-8")


def test_labels_are_made_for_chosen_pieces_and_their_code_opens_the_piece(
    phone: Phone, desk: str, elsewhere: Desk, tag: str
) -> None:
    elsewhere.piece(a_body_piece(tag))
    sign_in(phone, desk, "#/equipment")
    phone.page.get_by_label("Words in tag").fill(tag)
    phone.page.get_by_label(f"Choose {tag} for a label").check()
    phone.button("Make the labels").tap()
    phone.button("Make the sheet").tap()
    with phone.page.expect_download() as saved:
        phone.page.get_by_role("link", name="Save the sheet (PDF)").tap()
    assert Path(saved.value.path()).read_bytes().startswith(b"%PDF")


def test_a_tag_is_read_by_the_camera_where_the_browser_reads_codes(
    phone: Phone, desk: str, elsewhere: Desk, tag: str
) -> None:
    elsewhere.piece(a_body_piece(tag))
    # This browser has no camera and reads no codes: both are put in its place.
    phone.page.add_init_script(
        """navigator.mediaDevices ??= {};
        navigator.mediaDevices.getUserMedia = async () =>
          Object.assign(document.createElement("canvas")).captureStream();
        HTMLVideoElement.prototype.play = async () => {};
        let looks = 0;
        globalThis.BarcodeDetector = class {
          static async getSupportedFormats() { return ["qr_code"]; }
          async detect() { looks += 1; return looks < 3 ? [] : [{ rawValue: CODE }]; }
        };""".replace("CODE", repr(f"{phone.url}/{piece_place(tag)}"))
    )
    sign_in(phone, desk, "#/equipment")

    phone.button("Read the tag's code with the camera").tap()

    expect(phone.page.locator("h1")).to_contain_text(tag)
    expect(phone.sheet()).to_have_count(0)


def test_a_label_opened_without_a_key_leads_to_the_piece_once_the_key_is_given(
    phone: Phone, desk: str, elsewhere: Desk, tag: str
) -> None:
    elsewhere.piece(a_body_piece(tag))
    sign_in(phone, desk, piece_place(tag))
    expect(phone.page.locator("h1")).to_contain_text(tag)
    phone.button("Sign out").tap()
    expect(phone.page.get_by_text(tag)).to_have_count(0)
