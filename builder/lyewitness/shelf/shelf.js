(function () {
  "use strict";
  var form = document.getElementById("filters"), list = document.getElementById("studies"), told = document.getElementById("told");
  if (!form || !list) { return; }
  var items = Array.prototype.slice.call(list.children);
  function plain(text) { return text.normalize("NFKD").replace(/[\u0300-\u036f]/g, "").toLowerCase(); }
  function wordsOf(text) { return text.match(/[\p{L}\p{N}][\p{L}\p{N}-]*/gu) || []; }
  function lists(item) {
    return Array.prototype.map.call(form.querySelectorAll("select"), function (choice) {
      return JSON.parse(item.getAttribute("data-" + choice.name)).join(" ");
    }).join(" ");
  }
  var texts = items.map(function (item) { return plain(item.textContent + " " + item.getAttribute("data-words")); });
  var own = items.map(function (item) { return wordSet(plain(lists(item))); });
  var held = texts.map(wordSet);
  var every = new Set(), named = new Set();
  held.forEach(function (words) { words.forEach(function (word) { every.add(word); }); });
  own.forEach(function (words) { words.forEach(function (word) { named.add(word); }); });

  // Words, and the parts of compound ones.
  function wordSet(text) {
    var found = new Set();
    wordsOf(text).forEach(function (word) {
      found.add(word);
      word.split("-").forEach(function (part) { found.add(part); });
    });
    return found;
  }

  // Letters left out, put in, changed, or two turned round (Damerau 1964), no further than `most`.
  function apart(one, other, most) {
    if (Math.abs(one.length - other.length) > most) { return most + 1; }
    var before = [], last = [], row = [], i, j;
    for (j = 0; j <= other.length; j += 1) { last[j] = j; }
    for (i = 1; i <= one.length; i += 1) {
      row = [i];
      for (j = 1; j <= other.length; j += 1) {
        row[j] = Math.min(last[j] + 1, row[j - 1] + 1, last[j - 1] + (one[i - 1] === other[j - 1] ? 0 : 1));
        if (i > 1 && j > 1 && one[i - 1] === other[j - 2] && one[i - 2] === other[j - 1]) {
          row[j] = Math.min(row[j], before[j - 2] + 1);
        }
      }
      before = last;
      last = row;
    }
    return last[other.length];
  }

  // Parts of names (IUPAC) by which one substance is another: dimethylamine is no slip for diethylamine.
  var roots = /meth|eth|prop|but|pent|hex|hept|oct|non|dec|mono|di|tri|tetra|iso|cyclo|benz|phen/g;
  var kinds = /(?:yl|ol|al|ene|ane|ine|one|ate|ite|ide|ium|ic|ia)$/;
  function parts(word) {
    var single = word.replace(/([^s])s$/, "$1");
    return (single.match(roots) || []).concat(single.match(kinds) || []);
  }
  // One wrong letter may spoil one part; all that is typed rightly must be in the other name, too.
  function isOther(typed, meant) {
    var one = parts(typed), other = parts(meant);
    var spoilt = Math.abs(typed.length - meant.length) <= 1 && one.length + 1 === other.length;
    return one.join(" ") !== other.join(" ") && !(spoilt && one.every(function (part) { return other.indexOf(part) >= 0; }));
  }
  // A whole name, which within another one is another substance: ethylamine in diethylamine, amine is not.
  function isName(word) { return kinds.test(word) && (word.length >= 8 || word.match(roots) !== null); }

  // Of shorter words another letter makes another word; of eight letters two may be wrong.
  function nearest(word) {
    var best = "", least = word.length >= 8 ? 2 : 1;
    if (word.length < 5 || !/^\p{L}+$/u.test(word)) { return ""; }
    every.forEach(function (other) {
      var may = other[0] === word[0] && other.length >= 5 && !isOther(word, other);
      var far = may ? apart(word, other, least) : least + 1;
      if (far < least || (far === least && !best)) { best = other; least = far; }
    });
    return best;
  }

  function asked(text) {
    var wanted = [], without = [], out = false;
    plain(text).split(/\s+/).forEach(function (typed) {
      var minus = /^[-\u2212]\p{L}/u.test(typed), word = typed.replace(/^[^\p{L}\p{N}]+|[^\p{L}\p{N}]+$/gu, "");
      if (/^(not|without|except|no)$/.test(word)) { out = true; return; }
      if (!word || (out && /^(in|on|at|an?|the)$/.test(word))) { return; }
      (out || minus ? without : wanted).push(word);
      out = false;
    });
    return { wanted: wanted, without: without };
  }

  // 3 for a whole word, 2 for the beginning of one, 1 for a part, 0 for none.
  function found(place, word) {
    if (held[place].has(word)) { return 3; }
    var at = texts[place].indexOf(word);
    if (at < 0) { return 0; }
    if (Array.from(held[place]).some(function (one) { return one.indexOf(word) === 0; })) { return 2; }
    return isName(word) ? 0 : 1;
  }

  function near(item, name) {
    var low = form.elements[name + "-low"].value, high = form.elements[name + "-high"].value;
    if (low === "" && high === "") { return true; }
    return item.getAttribute("data-" + name).split(" ").some(function (one) {
      return one !== "" && (low === "" || Number(one) >= Number(low)) && (high === "" || Number(one) <= Number(high));
    });
  }

  // A word that no study has, as the nearest one that some study has; `said` tells of it.
  function respelled(word, said) {
    if (items.some(function (item, place) { return found(place, word); })) { return word; }
    var other = nearest(word);
    said.push("\u2018" + word + "\u2019 is in none" + (other ? ", searched as \u2018" + other + "\u2019" : ""));
    return other || word;
  }

  function show() {
    var said = [], ask = asked(form.elements.words.value), shown = 0;
    var wanted = ask.wanted.map(function (word) { return respelled(word, said); });
    var without = ask.without.map(function (word) { return respelled(word, said); });
    var scores = items.map(function (item, place) {
      var parts = wanted.map(function (word) { return found(place, word); });
      // What names a type or a buffer rules out what is of it, not what speaks of it.
      var fits = parts.every(Boolean) && !without.some(function (word) {
        return (named.has(word) ? own : held)[place].has(word);
      });
      Array.prototype.forEach.call(form.querySelectorAll("select"), function (choice) {
        if (choice.value) { fits = fits && JSON.parse(item.getAttribute("data-" + choice.name)).indexOf(choice.value) >= 0; }
      });
      fits = fits && near(item, "heat") && near(item, "ph");
      item.hidden = !fits;
      shown += fits ? 1 : 0;
      return parts.reduce(function (sum, one) { return sum + one; }, 0);
    });
    items.map(function (item, place) { return place; }).sort(function (one, other) {
      return scores[other] - scores[one] || one - other;
    }).forEach(function (place) { list.appendChild(items[place]); });
    told.textContent = [shown + " of " + items.length + " studies"].concat(said).join("; ");
  }
  form.hidden = false;
  form.addEventListener("input", show);
  form.addEventListener("submit", function (event) { event.preventDefault(); });
  show();
})();
