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
let touched = false;
document.addEventListener("input", (event) => {
  const form = event.target.form;
  if (form && form.method === "post" && form.closest("main")) touched = true;
});
document.addEventListener("submit", () => { touched = false; });
window.addEventListener("beforeunload", (event) => { if (touched) event.preventDefault(); });

// The first field that was refused is brought to the reader.
const wrong = document.querySelector(".wrong input, .wrong select, .wrong textarea");
if (wrong) wrong.focus();
