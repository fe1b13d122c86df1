// How does the picture, as it stands, come along to the page where a question is asked?

// The form of questions takes it from there; see templates/casework/questions.
const KEY = "casework picture";

// False where the browser keeps no more.
function keep(page, about, picture) {
  try {
    sessionStorage.setItem(KEY, JSON.stringify({ page, about, picture }));
    return true;
  } catch {
    return false;
  }
}

// A press on `button` goes to its page with what `copy` draws; `failed` is told where it cannot.
export function askAbout(button, copy, failed) {
  const { page, about } = button.dataset;
  button.addEventListener("click", () => {
    const canvas = copy();
    const isKept = keep(page, about, canvas.toDataURL("image/png"))
      || keep(page, about, canvas.toDataURL("image/jpeg", 0.9));
    if (isKept) location.assign(page);
    else failed();
  });
}
