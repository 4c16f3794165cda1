// The page takes keys only while it has the keyboard: it asks for it once the device is there, and after every click.
"use strict";

// The app needs 60 columns; a character is 0.6 times as wide as the font is high. On a small screen the font gives way.
const COLUMNS = 60;
const WIDTH_OF_CHARACTER = 0.6;
const SMALLEST_FONT = 8;

const fitFont = (terminal) => {
  const widest = Math.floor(window.innerWidth / COLUMNS / WIDTH_OF_CHARACTER);
  terminal.dataset.fontSize = Math.max(SMALLEST_FONT, Math.min(Number(terminal.dataset.fontSize), widest));
};

const focusTerminal = () => document.querySelector(".xterm-helper-textarea")?.focus();

window.addEventListener("DOMContentLoaded", () => {
  fitFont(document.querySelector("#terminal"));
  const observer = new MutationObserver(() => {
    if (document.body.classList.contains("-first-byte")) {
      focusTerminal();
    }
  });
  observer.observe(document.body, { attributes: true, attributeFilter: ["class"] });
  document.addEventListener("click", focusTerminal);
  document.querySelector("#again").addEventListener("click", () => window.location.reload());
});
