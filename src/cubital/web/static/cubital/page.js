// The little that a page cannot do without a script. Everything else works with scripts switched off.
"use strict";

function copySentence(button) {
  const source = document.getElementById(button.dataset.copies);
  const said = document.getElementById(button.dataset.says);
  navigator.clipboard.writeText(source.textContent.trim().replace(/\s+/g, " ")).then(
    () => { said.textContent = button.dataset.done; },
    () => {
      // No clipboard here: mark the text, so that the usual keys copy it.
      window.getSelection().selectAllChildren(source);
      said.textContent = button.dataset.marked;
    },
  );
}

function prepare(root) {
  root.querySelectorAll("button[data-copies]").forEach((button) => {
    button.hidden = false;
  });
  root.querySelectorAll("button[data-prints]").forEach((button) => {
    button.hidden = false;
  });
}

document.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (!button) return;
  if (button.dataset.copies) copySentence(button);
  if (button.dataset.prints) window.print();
});

// A file dropped anywhere on the page lands in the one field that takes files.
document.addEventListener("dragover", (event) => {
  const field = document.querySelector("input[type=file][data-drop]");
  if (!field) return;
  event.preventDefault();
  field.closest(".drop").classList.add("drop-over");
});
document.addEventListener("dragleave", () => {
  document.querySelectorAll(".drop-over").forEach((box) => box.classList.remove("drop-over"));
});
document.addEventListener("drop", (event) => {
  const field = document.querySelector("input[type=file][data-drop]");
  if (!field) return;
  event.preventDefault();
  field.closest(".drop").classList.remove("drop-over");
  if (event.dataTransfer.files.length) {
    field.files = event.dataTransfer.files;
    field.dispatchEvent(new Event("change", { bubbles: true }));
    field.focus();
  }
});

document.addEventListener("DOMContentLoaded", () => prepare(document));
document.addEventListener("htmx:afterSwap", (event) => prepare(event.target));
