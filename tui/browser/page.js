// Keys go to the screen once its line is open, and again whenever the page comes to the front.
const terminal = document.getElementById("terminal");
function toScreen() {
  if (terminal.classList.contains("-connected")) {
    terminal.querySelector(".xterm-helper-textarea").focus();
  }
}
new MutationObserver(toScreen).observe(terminal, { attributes: true, attributeFilter: ["class"] });
window.addEventListener("focus", toScreen);
