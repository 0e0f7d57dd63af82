// SPDX-License-Identifier: GPL-3.0-or-later
// Keeps the page's tick boxes and measured figures in the browser that they were entered in, by the page's place and the
// field's name. Where the browser keeps nothing (private windows, some settings) the fields still work.
(function () {
    "use strict";
    const boxes = Array.from(document.querySelectorAll("input[type=checkbox][data-tick]"));
    const key = (box) => "cradlewright " + location.pathname + " " + box.dataset.tick;
    const count = document.getElementById("ticks-done");
    function tell() {
        if (count) count.textContent = boxes.filter((box) => box.checked).length + " of " + boxes.length + " ticked";
    }
    for (const box of boxes) {
        try {
            box.checked = localStorage.getItem(key(box)) === "yes";
        } catch (_) {
            box.checked = false;
        }
        box.addEventListener("change", () => {
            try {
                if (box.checked) localStorage.setItem(key(box), "yes");
                else localStorage.removeItem(key(box));
            } catch (_) {
                // nothing is kept, nothing is lost
            }
            tell();
        });
    }
    tell();

    for (const field of document.querySelectorAll("input[data-note]")) {
        const name = "cradlewright " + location.pathname + " note " + field.dataset.note;
        try {
            field.value = localStorage.getItem(name) || "";
        } catch (_) {
            field.value = "";
        }
        const keep = () => {
            try {
                if (field.value) localStorage.setItem(name, field.value);
                else localStorage.removeItem(name);
            } catch (_) {
                // nothing is kept, nothing is lost
            }
        };
        field.addEventListener("input", keep);
        field.addEventListener("change", keep);
    }
})();
