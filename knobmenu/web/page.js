// The page takes keys only while it has the keyboard: it asks for it once the device is there, and after every click.
"use strict";

const focusTerminal = () => document.querySelector(".xterm-helper-textarea")?.focus();

window.addEventListener("DOMContentLoaded", () => {
  const observer = new MutationObserver(() => {
    if (document.body.classList.contains("-first-byte")) {
      focusTerminal();
    }
  });
  observer.observe(document.body, { attributes: true, attributeFilter: ["class"] });
  document.addEventListener("click", focusTerminal);
  document.querySelector("#again").addEventListener("click", () => window.location.reload());
});
