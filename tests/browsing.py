"""How does a test use the pages as a person does: by what is read, typed and pressed?"""

import os
import re
import threading
from datetime import date, timedelta
from pathlib import Path

from django.db import close_old_connections, connections
from playwright.sync_api import TimeoutError as TookTooLong

WIDE, NARROW = 1280, 390
HEIGHT = 900
# A machine that is busy with other tests is slow.
TIMEOUT_MS = 30_000
# Screenshots of every page a journey visits are written here, at both widths.
SHOTS = os.environ.get("BROWSER_SHOTS", "")
# What the browser itself says of an answer that refuses what was sent.
REFUSED = re.compile(r"status of (403|404|409|422)")
REASON = "Seen and accepted for this invented case."
OVERFLOW = """() => {
  const page = document.documentElement;
  if (page.scrollWidth <= page.clientWidth) return "";
  const frames = (one) => { for (let up = one.parentElement; up; up = up.parentElement)
    if (getComputedStyle(up).overflowX !== "visible") return true; return false; };
  const wide = [...document.querySelectorAll("main *, header *")].filter((one) =>
    one.getBoundingClientRect().right > page.clientWidth + 1 && !frames(one));
  return wide.map((one) => one.outerHTML.slice(0, 160)).join("\\n") || "something";
}"""


def days_ago(count):
    """A day as people type it."""
    return (date.today() - timedelta(days=count)).isoformat()


# No check is under way, and none is still to be made.
CHECKED = """() => document.readyState === "complete"
  && !document.querySelector("main [hx-get*='/gates/']")
  && !/not checked yet/.test(document.querySelector("main").innerText)"""


class Worker(threading.Thread):
    """Does background jobs while the pages are used, as soon as a service wakes it."""

    def __init__(self):
        super().__init__(name="jobs of a journey", daemon=True)
        self._woken, self._ending = threading.Event(), threading.Event()

    def run(self):
        from casework.tasks import run_job
        from orders.jobs import services as jobs

        jobs.on_wake(self._wake)
        try:
            while not self._ending.is_set():
                self._woken.wait(1)
                self._woken.clear()
                for job in jobs.sweep():
                    run_job(job.pk)
        finally:
            jobs.forget_waker(self._wake)
            connections.close_all()

    def _wake(self, job_id):
        self._woken.set()

    def stop(self):
        self._ending.set()
        self._woken.set()
        self.join(60)
        close_old_connections()


def _label(words):
    """A field's whole label, with or without the word that it may stay empty."""
    return re.compile(rf"^\s*{re.escape(words)}(\s*\(optional\))?\s*$", re.IGNORECASE)


class Person:
    """Somebody in front of a browser. Every page met is looked at on a small screen too."""

    def __init__(self, browser, address, *, name, width=WIDE):
        self.name, self.width = name, width
        self.context = browser.new_context(
            viewport={"width": width, "height": HEIGHT}, base_url=address
        )
        self.page = self.context.new_page()
        self.page.set_default_timeout(TIMEOUT_MS)
        self.troubles, self.seen_pages, self.looks = [], set(), 0
        # Presses, fields typed in and choices made, as an order takes them from a person.
        self.acts = 0
        self.page.on("console", self._hear)
        self.page.on("pageerror", lambda error: self.troubles.append(str(error)))
        self.page.on("response", self._answered)
        self.page.on("dialog", lambda dialog: dialog.accept())

    def _hear(self, message):
        if message.type == "error" and not REFUSED.search(message.text):
            self.troubles.append(message.text)

    def _answered(self, answer):
        if answer.status >= 500:
            self.troubles.append(f"{answer.status} at {answer.url}")

    # What a person does

    def sign_in(self, email, password):
        self.go("/")
        self.type("E-mail", email)
        self.type("Password", password)
        self.press("Sign in")
        return self

    def go(self, path):
        self.page.goto(path)
        self.look()

    def press(self, words, *, near=None):
        """Press the button or follow the link called so, on the page or near some words."""
        self.acts += 1
        self._named(words, near).click()
        self.page.wait_for_load_state()
        self.look()

    def _named(self, words, near=None):
        around = self.page.locator("main, header").filter(visible=True)
        if near is not None:
            pieces = "tr, article, .card, section, li, details"
            around = self.page.locator(pieces).filter(has_text=near).last
        exact = re.compile(rf"^\s*{re.escape(words)}\s*$")
        button = around.get_by_role("button", name=exact)
        found = button.or_(around.get_by_role("link", name=exact)).first
        if self.width == NARROW and not found.is_visible():
            self._open_the_fold_with(exact)
        try:
            found.wait_for()
        except TookTooLong as missing:
            raise AssertionError(f"Nothing is called {words!r}:\n{self.text()}") from missing
        return found

    def _open_the_fold_with(self, name):
        """A phone folds the head and the case's own list away; open the one it stands in."""
        for fold in self.page.locator("[popovertarget]").all():
            inside = self.page.locator(f"#{fold.get_attribute('popovertarget')}")
            named = inside.get_by_role("link", name=name, include_hidden=True)
            if named.or_(inside.get_by_role("button", name=name, include_hidden=True)).count():
                fold.click()

    def look_around(self):
        """Open every page that the head of this one and the case's own list lead to."""
        links = self.page.locator("header nav a, nav.areas a")
        for path in links.evaluate_all("all => all.map(one => one.pathname)"):
            self.go(path)

    def field(self, label):
        field = self.page.locator("main").get_by_label(_label(label)).first
        try:
            field.wait_for(state="attached")
        except TookTooLong as missing:
            raise AssertionError(f"No field is called {label!r}:\n{self.text()}") from missing
        return field

    def type(self, label, text):
        """Type into a field, choose in a list, or tick a box, whatever the label stands at."""
        self.acts += 1
        field = self.field(label)
        kind = field.evaluate("one => one.type")
        if kind == "select-one":
            self._choose(field, text)
        elif kind in ("checkbox", "radio"):
            field.set_checked(bool(text))
        else:
            field.fill(str(text))

    def _choose(self, field, text):
        offered = field.evaluate("one => [...one.options].map(row => row.label.trim())")
        fitting = [row for row in offered if row == text] or [r for r in offered if text in r]
        assert fitting, f"{text!r} is not offered: {offered}"
        field.select_option(label=fitting[0])

    def type_all(self, told):
        for label, text in told.items():
            self.type(label, text)

    def pick(self, legend, choice):
        """Pick one of several round buttons under their common words."""
        self.acts += 1
        group = self.page.get_by_role("group", name=_label(legend))
        group.get_by_label(_label(choice)).check()

    def drop(self, label, files):
        self.acts += 1
        self.field(label).set_input_files([str(file) for file in files])

    def have_it_checked(self, button="Check"):
        """Press the button, wait for the worker, and give a reason for whatever is asked.

        What is asked several times alike is given one reason. Returns how many were typed.
        """
        self.press(button)
        self.page.wait_for_function(CHECKED)
        self.look()
        boxes = self.page.get_by_label(
            re.compile(r"^Your reason for (going on|all \d+ of these)$")
        )
        if count := boxes.count():
            for place in range(count):
                self.acts += 1
                boxes.nth(place).fill(REASON)
            self.press("Record my reasons")
            self.reads("Your reasons are recorded")
        return count

    def save_download(self, words, folder):
        """Press what downloads and keep the file; returns its path."""
        with self.page.expect_download() as caught:
            self._named(words).click()
        target = Path(folder) / caught.value.suggested_filename
        caught.value.save_as(target)
        return target

    # What a person reads

    def reads(self, *sentences):
        """Wait until each of these words stands on the page."""
        for words in sentences:
            try:
                self.page.get_by_text(words).filter(visible=True).first.wait_for()
            except TookTooLong as missing:
                raise AssertionError(f"{words!r} is not said:\n{self.text()}") from missing

    def text(self):
        return self.page.locator("main").inner_text()

    def table(self, words):
        """The text of the row in which the words stand."""
        return self.page.locator("tr").filter(has_text=words).first.inner_text()

    def look(self):
        """The page is no error, the browser has no complaint, and a phone shows it whole."""
        assert self.page.locator("main").count() == 1, self.page.content()[:2000]
        self.looks += 1
        self._shot(self.width)
        if self.width != NARROW:
            self.page.set_viewport_size({"width": NARROW, "height": HEIGHT})
        wide = self.page.evaluate(OVERFLOW)
        self._shot(NARROW)
        if self.width != NARROW:
            self.page.set_viewport_size({"width": self.width, "height": HEIGHT})
        if wide:
            self.troubles.append(f"wider than a phone: {self.page.url}\n{wide}")
        self.seen_pages.add(re.sub(r"https?://[^/]+", "", self.page.url))

    def _shot(self, width):
        if not SHOTS:
            return
        place = re.sub(r"[^a-z0-9]+", "_", self.page.url.split("/", 3)[-1].lower()).strip("_")
        name = f"{self.name}-{self.looks:03}-{place or 'start'}-{width}.png"
        Path(SHOTS).mkdir(parents=True, exist_ok=True)
        self.page.screenshot(path=Path(SHOTS) / name, full_page=True)
