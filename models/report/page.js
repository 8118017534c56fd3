(function () {
  var card = document.getElementById("card");
  document.querySelectorAll("svg .pg, svg g").forEach(function (g) {
    var title = g.querySelector(":scope > title");
    if (!title) return;
    g.setAttribute("data-said", title.textContent);
    g.setAttribute("aria-label", title.textContent);
    g.setAttribute("role", "img");
    title.remove();
  });
  function show(g) {
    card.textContent = g.getAttribute("data-said");
    card.hidden = false;
    var at = g.getBoundingClientRect(), own = card.getBoundingClientRect();
    card.style.left = Math.max(4, Math.min(innerWidth - own.width - 4, at.left + at.width / 2 - own.width / 2)) + "px";
    card.style.top = (at.top - own.height - 6 < 2 ? at.bottom + 6 : at.top - own.height - 6) + "px";
  }
  function hide() { card.hidden = true; }
  function marked(e) {
    var t = e.target;
    return t.closest && (t.closest("[data-said]") || t.matches("svg a") && t.querySelector("[data-said]"));
  }
  // What the Tab key stops at: the link around a page to its image, else the page.
  function stop(g) { return g.closest("a") || g; }
  document.addEventListener("mouseover", function (e) { var g = marked(e); if (g) show(g); else hide(); });
  document.addEventListener("focusin", function (e) { var g = marked(e); if (g) show(g); else hide(); });
  document.addEventListener("keydown", function (e) {
    if (e.key === "Escape") return hide();
    var g = marked(e), step = { ArrowRight: 1, ArrowLeft: -1 }[e.key];
    if (!g || !step) return;
    var all = Array.from(g.closest("svg").querySelectorAll("[data-said]")), next = all[all.indexOf(g) + step];
    if (!next) return;
    stop(g).setAttribute("tabindex", "-1");
    stop(next).setAttribute("tabindex", "0");
    stop(next).focus();
    e.preventDefault();
  });
  document.querySelectorAll("svg").forEach(function (svg) {
    svg.querySelectorAll("[data-said]").forEach(function (g, k) { stop(g).setAttribute("tabindex", k ? "-1" : "0"); });
  });
  // A table or chart that fits its place needs no stop of the Tab key.
  function stops() {
    document.querySelectorAll(".scroll, .plate").forEach(function (e) {
      if (e.scrollWidth > e.clientWidth || e.scrollHeight > e.clientHeight) e.setAttribute("tabindex", "0");
      else e.removeAttribute("tabindex");
    });
  }
  addEventListener("load", stops);
  addEventListener("resize", stops);
  document.addEventListener("toggle", stops, true);
  function open(id) {
    for (var e = document.getElementById(id); e; e = e.parentElement) if (e.tagName === "DETAILS") e.open = true;
  }
  document.addEventListener("click", function (e) {
    var a = e.target.closest && e.target.closest("a[href^='#']");
    if (a) open(a.getAttribute("href").slice(1));
  });
  if (location.hash) open(decodeURIComponent(location.hash.slice(1)));
  var opened = [];
  addEventListener("beforeprint", function () {
    if (!document.getElementById("with-referee").checked) return;
    document.querySelectorAll("details:not([open])").forEach(function (d) { d.open = true; opened.push(d); });
  });
  addEventListener("afterprint", function () { opened.forEach(function (d) { d.open = false; }); opened = []; });
})();
