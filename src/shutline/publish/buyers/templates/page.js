// What the page does beyond what it says: links to a moment play the film there, and captions stand in it even from a disk.
// Written for old browsers too; without it every link opens the film by itself at that moment.
(function () {
  "use strict";
  var each = Array.prototype.forEach;

  function player(number) { return document.getElementById("player-" + number); }

  function inSight(element) {
    var box = element.getBoundingClientRect();
    return box.bottom > 80 && box.top < window.innerHeight - 80;
  }

  function goTo(video, atS) {
    var go = function () { video.currentTime = atS; };
    if (video.readyState > 0) { go(); } else {
      video.addEventListener("loadedmetadata", function once() { video.removeEventListener("loadedmetadata", once); go(); });
      video.preload = "auto";
    }
    var begun = video.play();
    // A browser may refuse to play; the moment is there all the same.
    if (begun && begun["catch"]) { begun["catch"](function () {}); }
  }

  function putAside(frame) {
    if (!frame || frame.className.indexOf("aside") >= 0) { return; }
    frame.parentNode.style.minHeight = frame.parentNode.offsetHeight + "px";
    frame.className += " aside";
    document.body.className = "with-film";
  }

  function putBack(frame) {
    if (!frame || frame.className.indexOf("aside") < 0) { return; }
    frame.className = frame.className.replace(" aside", "");
    frame.parentNode.style.minHeight = "";
    document.body.className = "";
  }

  each.call(document.querySelectorAll(".player"), function (frame) {
    var back = document.createElement("button");
    back.type = "button";
    back.className = "back";
    back.textContent = "Put the film back";
    back.addEventListener("click", function () {
      var video = frame.querySelector("video");
      video.pause();
      putBack(frame);
      if (frame.from) { frame.from.focus(); }
    });
    frame.appendChild(back);
  });

  document.addEventListener("click", function (event) {
    var link = event.target;
    while (link && link !== document && !(link.getAttribute && link.getAttribute("data-at"))) { link = link.parentNode; }
    if (!link || link === document || event.ctrlKey || event.metaKey || event.shiftKey) { return; }
    var video = player(link.getAttribute("data-film"));
    if (!video || !video.canPlayType || !video.canPlayType("video/mp4")) { return; }
    event.preventDefault();
    var frame = video.parentNode;
    each.call(document.querySelectorAll("video"), function (other) { if (other !== video) { other.pause(); putBack(other.parentNode); } });
    frame.from = link;
    if (!inSight(frame)) { putAside(frame); }
    goTo(video, parseFloat(link.getAttribute("data-at")));
  });

  // What is folded opens for a link to it: most browsers see to that by themselves, older ones do not.
  function unfold() {
    var named = window.location.hash.length > 1 && document.getElementById(window.location.hash.slice(1));
    var shut = false;
    for (var fold = named && named.parentNode; fold; fold = fold.parentNode) {
      if (fold.tagName === "DETAILS" && !fold.open) { fold.open = true; shut = true; }
    }
    if (shut) { named.scrollIntoView(); }
  }
  unfold();
  window.addEventListener("hashchange", unfold);
  // A link that was followed before and whose part was folded since: the address does not change.
  document.addEventListener("click", function (event) {
    var link = event.target;
    while (link && link !== document && !(link.getAttribute && link.getAttribute("href"))) { link = link.parentNode; }
    if (link && link !== document && link.getAttribute("href") === window.location.hash) { unfold(); }
  });

  // On paper all is open, and afterwards as it was.
  window.addEventListener("beforeprint", function () {
    each.call(document.querySelectorAll("details.good"), function (fold) {
      fold.shut = !fold.open;
      fold.open = true;
    });
  });
  window.addEventListener("afterprint", function () {
    each.call(document.querySelectorAll("details.good"), function (fold) { if (fold.shut) { fold.open = false; } });
  });

  // A link that somebody sent names a moment: #film-1-at-83.5
  function sent() {
    var named = /^#film-(\d+)-at-(\d+(?:\.\d+)?)$/.exec(window.location.hash);
    var video = named && player(named[1]);
    if (!video || !video.canPlayType || !video.canPlayType("video/mp4")) { return; }
    video.parentNode.scrollIntoView();
    goTo(video, parseFloat(named[2]));
  }
  sent();
  window.addEventListener("hashchange", sent);

  document.addEventListener("keydown", function (event) {
    if (event.key === "Escape" || event.key === "Esc") {
      each.call(document.querySelectorAll(".player.aside"), function (frame) { frame.querySelector(".back").click(); });
    }
  });

  // A film that plays goes along to wherever one reads, and back to its place with the reader.
  window.addEventListener("scroll", function () {
    each.call(document.querySelectorAll(".player"), function (frame) {
      var aside = frame.className.indexOf("aside") >= 0;
      var seen = inSight(frame.parentNode);
      if (aside && seen) { putBack(frame); } else if (!aside && !seen && !frame.querySelector("video").paused) { putAside(frame); }
    });
  });

  each.call(document.querySelectorAll("video"), function (video) {
    var number = video.id.replace("player-", "");
    var links = document.querySelectorAll(".chapters a[data-film='" + number + "']");
    video.addEventListener("timeupdate", function () {
      var here = null;
      each.call(links, function (link) {
        if (parseFloat(link.getAttribute("data-at")) <= video.currentTime + 0.05) { here = link; }
      });
      each.call(links, function (link) {
        if (link === here) { link.setAttribute("aria-current", "true"); } else { link.removeAttribute("aria-current"); }
      });
    });
    captions(video, number);
  });

  // From a disk a browser does not read the file of captions: they are taken from the page.
  function captions(video, number) {
    var lines = document.querySelectorAll("[data-captions='" + number + "'] li");
    var Cue = window.VTTCue || window.TextTrackCue;
    if (window.location.protocol !== "file:" || !lines.length || !video.addTextTrack || !Cue) { return; }
    each.call(video.querySelectorAll("track"), function (track) { video.removeChild(track); });
    var shown = video.addTextTrack("captions", "Captions", "en");
    each.call(lines, function (line) {
      try {
        shown.addCue(new Cue(parseFloat(line.getAttribute("data-from")), parseFloat(line.getAttribute("data-until")), line.textContent));
      } catch (refused) { return; }
    });
    shown.mode = "hidden";
  }
}());
