// What does script add? Pages work without it; it saves a second press and a lost page.
"use strict";

// A form is sent once: a second press within the same page does nothing.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.method !== "post" || event.defaultPrevented || form.hasAttribute("hx-post")) return;
  if (form.dataset.sent) {
    event.preventDefault();
    return;
  }
  form.dataset.sent = "yes";
  for (const button of form.querySelectorAll("button")) button.setAttribute("aria-busy", "true");
  // An answer that is a download leaves the page standing: it may be asked for again.
  setTimeout(release, 5000);
});

function release() {
  for (const form of document.querySelectorAll("form[data-sent]")) delete form.dataset.sent;
  for (const button of document.querySelectorAll("[aria-busy]")) button.removeAttribute("aria-busy");
}

// Coming back by the browser's button shows the page as it was left: it may be sent again.
window.addEventListener("pageshow", release);

// What was typed and not saved is not lost without a question.
let touched = null;
document.addEventListener("input", (event) => {
  const form = event.target.form;
  if (form && form.method === "post" && form.closest("main")) touched = form;
});
document.addEventListener("submit", () => { touched = null; });
window.addEventListener("beforeunload", (event) => { if (touched) event.preventDefault(); });

// The first field that was refused is brought to the reader.
const wrong = document.querySelector(".wrong input, .wrong select, .wrong textarea");
if (wrong) wrong.focus();

// What was typed before a shared computer locked is typed again; whoever typed it sends it.
const untold = (field) => !field.name || ["hidden", "password", "file", "submit"].includes(field.type);
const goal = (form) => new URL(form.getAttribute("action") || "", location.href).pathname;
const left = document.getElementById("left-typed");
if (left) {
  const { action, typed } = JSON.parse(left.textContent);
  const form = [...document.querySelectorAll("main form[method=post]")].find((one) => goal(one) === action);
  const texts = {};
  for (const [name, text] of typed) (texts[name] ||= []).push(text);
  for (const field of form ? [...form.elements].filter((one) => !untold(one)) : []) {
    const mine = texts[field.name] || [];
    if (["checkbox", "radio"].includes(field.type)) field.checked = mine.includes(field.value);
    else if (field.multiple) for (const one of field.options) one.selected = mine.includes(one.value);
    else if (mine.length) field.value = mine.shift();
    touched = form;
  }
}

// A shared computer says when it is about to lock, and goes to the locked screen by itself. The
// service decides when it locks; it is told when somebody is at the page.
const locking = document.getElementById("locking");
if (locking) {
  const after_ms = locking.dataset.lockAfterS * 1000, said_ms = 60_000, says = locking.querySelector("output");
  const tabs = new BroadcastChannel("casework lock");
  let stirred = Date.now(), told = stirred;

  const add = (name, value) =>
    locking.append(Object.assign(document.createElement("input"), { type: "hidden", name, value }));
  const lock = () => {
    if (locking.dataset.sent) return;
    add("why", "idle");
    locking.requestSubmit();
  };
  const tell = async () => {
    told = Date.now();
    const sent = { method: "POST", body: new URLSearchParams(new FormData(locking)) };
    const answer = await fetch(locking.dataset.here, sent).catch(() => null);
    if (answer && answer.status !== 204) lock();
  };
  const stir = () => {
    if (Date.now() - stirred < 1000) return;
    stirred = Date.now();
    tabs.postMessage("stirred");
  };
  for (const kind of ["pointerdown", "pointermove", "keydown", "wheel"]) {
    document.addEventListener(kind, stir, { passive: true });
  }
  tabs.onmessage = ({ data }) => { if (data === "locked") lock(); else stirred = told = Date.now(); };
  window.addEventListener("pageshow", (event) => { if (event.persisted) tell(); });

  // What stands in a form that was not sent goes along, without passwords and files.
  locking.addEventListener("submit", () => {
    tabs.postMessage("locked");
    if (!touched) return;
    const names = new Set([...touched.elements].filter((one) => !untold(one)).map((one) => one.name));
    const typed = [...new FormData(touched)].filter(([name]) => names.has(name));
    add("action", goal(touched));
    add("typed", new URLSearchParams(typed));
  });

  setInterval(() => {
    const now = Date.now(), left_ms = stirred + after_ms - now;
    if (left_ms <= 0) lock();
    else if (stirred > told && now - told >= after_ms / 10) tell();
    says.textContent = left_ms > said_ms ? "" : says.dataset.words.replace("{n}", Math.ceil(left_ms / 1000));
  }, 1000);
}
