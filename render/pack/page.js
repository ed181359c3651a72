"use strict";
(function () {
  var input = document.getElementById("find");
  var list = document.getElementById("results");
  var count = document.getElementById("count");
  var fold = function (s) { return s.toLowerCase().normalize("NFD").replace(/[\u0300-\u036f]/g, ""); };
  // Every entry is found by its title first, then by its words, then by its text.
  var items = Array.prototype.map.call(document.querySelectorAll("article[id]"), function (a) {
    var h = a.querySelector("h3");
    var section = a.closest("section").querySelector("h2").textContent;
    return { id: a.id, title: h.textContent, section: section, head: fold(h.textContent), words: fold(a.getAttribute("data-find") + " " + section), text: fold(a.textContent) };
  });
  var whole = function (text, word) {
    var at = text.indexOf(word);
    while (at >= 0) {
      var before = at === 0 || !/[a-z0-9]/.test(text[at - 1]);
      var after = at + word.length === text.length || !/[a-z0-9]/.test(text[at + word.length]);
      if (before && after) { return true; }
      at = text.indexOf(word, at + 1);
    }
    return false;
  };
  var score = function (item, words) {
    var sum = 0;
    for (var i = 0; i < words.length; i++) {
      var w = words[i];
      if (whole(item.head, w)) { sum += 12; }
      else if (item.head.indexOf(w) >= 0) { sum += 6; }
      else if (whole(item.words, w)) { sum += 4; }
      else if (whole(item.text, w)) { sum += 2; }
      else if (w.length > 2 && (item.words.indexOf(w) >= 0 || item.text.indexOf(w) >= 0)) { sum += 1; }
      else { return 0; }
    }
    return sum;
  };
  var find = function () {
    var words = fold(input.value).split(/\s+/).filter(Boolean);
    list.textContent = "";
    if (!words.length) { count.textContent = ""; return; }
    var hits = items.map(function (item) { return { item: item, score: score(item, words) }; })
      .filter(function (h) { return h.score > 0; })
      .sort(function (a, b) { return b.score - a.score; });
    count.textContent = hits.length === 0 ? "Nothing found. Try fewer words, an id or a place." : hits.length + (hits.length === 1 ? " place" : " places");
    hits.slice(0, 25).forEach(function (h) {
      var li = document.createElement("li");
      var a = document.createElement("a");
      a.href = "#" + h.item.id;
      a.textContent = h.item.title;
      var small = document.createElement("small");
      small.textContent = " " + h.item.section;
      li.appendChild(a);
      li.appendChild(small);
      list.appendChild(li);
    });
  };
  input.addEventListener("input", find);
  list.addEventListener("click", function (e) {
    var a = e.target.closest("a");
    if (!a) { return; }
    var target = document.getElementById(a.getAttribute("href").slice(1));
    list.textContent = "";
    count.textContent = "";
    // Focus follows the jump, so that keyboard and screen reader go on there.
    setTimeout(function () { target.querySelector("h3").focus(); }, 0);
  });
})();
