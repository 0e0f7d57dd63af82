// SPDX-License-Identifier: GPL-3.0-or-later
// Other tilts of report.html: the slider shows one row of the table in words, turns the plug's section to it, and writes
// the command that would design it.
(function () {
    "use strict";
    const slider = document.getElementById("tilt-at");
    if (!slider) return;
    const tilts = slider.dataset.tilts.split(" ").map(Number), told = Number(slider.defaultValue);
    const rows = document.querySelectorAll("#tilt-table tbody tr");
    const heads = Array.from(document.querySelectorAll("#tilt-table thead th"), (head) => head.textContent);
    const say = document.getElementById("tilt-say"), command = document.getElementById("tilt-command");
    const section = document.getElementById("tilt-section");

    function show() {
        const at = Number(slider.value);
        const words = Array.from(rows[at].children, (cell, i) => heads[i] + ": " + cell.textContent.trim());
        say.textContent = words.join("; ") + ".";
        rows.forEach((row, i) => row.classList.toggle("picked", i === at));
        command.textContent = command.dataset.head + " --tilt " + tilts[at] + "deg --overwrite";
        // Seen from end-b the front is right, so that lifting it turns the picture to the left.
        if (section) section.setAttribute("transform", "rotate(" + (tilts[told] - tilts[at]) + ")");
    }
    slider.addEventListener("input", show);
    document.getElementById("tilt-try").hidden = false;
    show();
})();
