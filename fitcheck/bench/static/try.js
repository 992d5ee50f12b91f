// A choice that leads on by itself; without this its button does.

for (const one of document.querySelectorAll("select[data-go]")) {
  one.addEventListener("change", () => one.form.requestSubmit());
}
