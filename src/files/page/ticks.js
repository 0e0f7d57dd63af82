// SPDX-License-Identifier: GPL-3.0-or-later
// Keeps the page's tick boxes in the browser that ticked them, by the page's place and the box's name. Where the browser
// keeps nothing (private windows, some settings) the boxes still tick.
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
})();
