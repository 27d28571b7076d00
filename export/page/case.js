// The case page's own script: plays, seeks, captions, searches, asks. It fetches nothing.
'use strict';
(() => {
  const told = JSON.parse(document.getElementById('told').textContent);
  const one = (where) => document.querySelector(where), all = (where) => [...document.querySelectorAll(where)];
  const film = one('video'), stage = one('.stage'), theatre = one('.theatre');
  const made = (tag, look, words) => {
    const e = document.createElement(tag);
    if (look) e.className = look;
    if (words !== undefined) e.textContent = words;
    return e;
  };
  const clock = (t) => {
    const s = Math.floor(t + 0.001), two = (n) => String(n).padStart(2, '0');
    return s >= 3600 ? `${Math.floor(s / 3600)}:${two(Math.floor(s / 60) % 60)}:${two(s % 60)}` : `${Math.floor(s / 60)}:${two(s % 60)}`;
  };

  // ---- Playing ---------------------------------------------------------------------------------------
  const play = one('#play'), place = one('#place'), now = one('#now');
  let last = 0, asking = null;
  film.removeAttribute('controls');
  all('.scripted').forEach((e) => { e.hidden = false; });

  const seek = (t) => {
    if (asking !== null) leave();
    film.currentTime = Math.min(Math.max(t, 0), told.length - 0.01);
    last = film.currentTime;
    show();
  };
  const toggle = () => {
    if (asking !== null) return;
    if (film.paused) film.play().catch(() => { one('.fault').hidden = false; });
    else film.pause();
  };
  const label = () => { play.textContent = film.paused ? 'Play' : 'Pause'; };
  film.addEventListener('play', () => { label(); requestAnimationFrame(tick); });
  film.addEventListener('pause', label);
  film.addEventListener('timeupdate', () => tick(null));
  film.addEventListener('seeked', () => show());
  film.addEventListener('error', () => { one('.fault').hidden = false; });
  film.addEventListener('click', toggle);
  play.addEventListener('click', toggle);
  one('#back').addEventListener('click', () => seek(film.currentTime - 5));
  one('#on').addEventListener('click', () => seek(film.currentTime + 5));
  one('#pace').addEventListener('change', (e) => { film.playbackRate = Number(e.target.value); });
  one('#mute').addEventListener('click', (e) => {
    film.muted = !film.muted;
    e.target.setAttribute('aria-pressed', String(film.muted));
  });
  one('#whole').addEventListener('click', () => {
    if (document.fullscreenElement) document.exitFullscreen();
    else if (theatre.requestFullscreen) theatre.requestFullscreen().catch(() => {});
  });
  if (!theatre.requestFullscreen) one('#whole').hidden = true;
  place.addEventListener('input', () => seek(Number(place.value)));
  theatre.addEventListener('keydown', (e) => {
    if (e.ctrlKey || e.altKey || e.metaKey || asking !== null || e.target.tagName === 'SELECT') return;
    const by = { ArrowLeft: -5, ArrowRight: 5 }[e.key];
    if (by) seek(film.currentTime + by);
    else if (e.key === ' ' && e.target.tagName !== 'BUTTON') toggle();
    else if (e.key === 'c') captions.click();
    else return;
    e.preventDefault();
  });

  // ---- Captions --------------------------------------------------------------------------------------
  const box = one('.captions'), captions = one('#captions'), tongue = one('#tongue');
  let cues = told.tracks.length ? told.tracks[0].cues : [], shown = null;
  const caption_on = (on) => {
    captions.setAttribute('aria-pressed', String(on));
    box.classList.toggle('off', !on);
  };
  captions.addEventListener('click', () => caption_on(captions.getAttribute('aria-pressed') !== 'true'));
  caption_on(!told.burnt && cues.length > 0);
  if (!cues.length) captions.hidden = true;
  if (told.tracks.length > 1) {
    told.tracks.forEach((track, i) => tongue.append(new Option(track.language, String(i))));
    tongue.hidden = false;
    tongue.addEventListener('change', () => {
      cues = told.tracks[Number(tongue.value)].cues;
      box.lang = told.tracks[Number(tongue.value)].language;
      shown = null;
      show();
      search();
    });
  }

  // ---- What is shown now -----------------------------------------------------------------------------
  const stops = all('.list .go.event'), head = one('.head');
  const show = () => {
    const t = film.currentTime;
    now.textContent = `${clock(t)} / ${clock(told.length)}`;
    place.value = String(t);
    place.setAttribute('aria-valuetext', `${clock(t)} of ${clock(told.length)}`);
    head.style.left = `${100 * t / told.length}%`;
    const cue = cues.find((c) => c.from <= t && t < c.until);
    const words = cue ? cue.words : '';
    if (words !== shown) box.textContent = shown = words;
    stops.forEach((e, i) => e.classList.toggle('now', told.events[i].at <= t && t < told.events[i].until));
  };
  function tick(again) {
    const t = film.currentTime;
    const next = told.questions.findIndex((q, i) => score[i] === undefined && last < q.at && q.at <= t);
    if (!film.paused && asking === null && next >= 0) ask(next);
    else last = t;
    show();
    if (again !== null && !film.paused) requestAnimationFrame(tick);
  }

  // ---- The timeline: a lane for each ear, marks in rows so that none hides another ---------------------
  const lay = () => {
    const width = one('.lanes').clientWidth || 1;
    all('.lane').forEach((lane) => {
      const ends = [];
      [...lane.querySelectorAll('.stop')].forEach((stop) => {
        const x = Math.max(34, width * Number(stop.dataset.at) / told.length);
        let row = ends.findIndex((end) => end <= x - 13);
        if (row < 0) row = ends.length < 4 ? ends.length : ends.indexOf(Math.min(...ends));
        ends[row] = x + 15;
        stop.style.left = `${Math.min(x, width - 13)}px`;
        stop.style.top = `${2 + row * 28}px`;
      });
      lane.style.height = `${2 + Math.max(1, ends.length) * 28}px`;
    });
    // A letter and three dots name no chapter: its words are in the list and in the tip.
    all('.parts span').forEach((s) => s.classList.toggle('tight', s.offsetWidth < 56));
  };
  const stop_at = (t, words) => {
    const s = made('span', 'stop');
    s.dataset.at = t;
    s.title = `${clock(t)} ${words}`;
    return s;
  };
  const marks = told.events.map((e, i) => {
    const s = stop_at(e.at, e.words);
    s.append(stops[i].querySelector('svg').cloneNode(true));
    one(`.lane.${e.ear}`).append(s);
    return s;
  });
  if (told.questions.length) {
    const lane = made('div', 'lane');
    lane.append(made('b', '', '?'));
    told.questions.forEach((q, i) => {
      const s = stop_at(q.at, `Question ${i + 1}`);
      s.classList.add('ask');
      s.dataset.number = i;
      s.textContent = '?';
      lane.append(s);
    });
    head.before(lane);
  }
  told.chapters.forEach((c, i) => {
    const s = made('span', '', c.title), end = i + 1 < told.chapters.length ? told.chapters[i + 1].at : told.length;
    s.style.left = `${100 * c.at / told.length}%`;
    s.style.width = `${100 * (end - c.at) / told.length}%`;
    s.dataset.at = c.at;
    s.title = c.title;
    one('.parts').append(s);
  });
  one('.lanes').addEventListener('click', (e) => {
    const stop = e.target.closest('.stop'), room = one('.lanes').getBoundingClientRect();
    if (stop && stop.dataset.number !== undefined) return again(Number(stop.dataset.number));
    seek(stop ? Number(stop.dataset.at) : told.length * (e.clientX - room.left) / room.width);
  });
  one('.parts').addEventListener('click', (e) => { if (e.target.dataset.at) seek(Number(e.target.dataset.at)); });
  document.addEventListener('click', (e) => {
    const go = e.target.closest('.go');
    if (!go) return;
    seek(Number(go.dataset.at));
    if (!go.closest('.index')) theatre.scrollIntoView({ block: 'nearest' });
  });
  addEventListener('resize', lay);

  // ---- Searching captions and events -------------------------------------------------------------------
  const sought = one('#sought'), found = one('.found'), list = one('.list'), hits = one('.hits');
  const plain = (words) => words.normalize('NFD').replace(/\p{M}/gu, '').toLowerCase();
  const marked = (words, what) => {
    const e = made('span', 'words'), at = plain(words).indexOf(what);
    if (at < 0 || plain(words).length !== words.length) e.textContent = words;
    else e.append(words.slice(0, at), made('mark', '', words.slice(at, at + what.length)), words.slice(at + what.length));
    return e;
  };
  const hit = (t, words, what, mark, side) => {
    const go = made('button', mark ? 'go' : 'go line');
    go.type = 'button';
    go.dataset.at = t;
    if (mark) go.append(mark.cloneNode(true));
    go.append(made('span', 'time', clock(t)), marked(words, what));
    if (side) go.append(made('span', 'side', side));
    const row = made('li');
    row.append(go);
    return row;
  };
  function search() {
    const what = plain(sought.value.trim());
    list.hidden = what !== '';
    hits.hidden = what === '';
    hits.textContent = '';
    found.textContent = '';
    if (!what) return;
    const rows = [];
    told.events.forEach((e, i) => {
      const words = words_of(i);
      if (plain(words).includes(what)) rows.push([e.at, hit(e.at, words, what, stops[i].querySelector('svg'), e.ear === 'right' ? 'Right' : 'Left')]);
    });
    cues.forEach((c) => { if (plain(c.words).includes(what)) rows.push([c.from, hit(c.from, c.words.replace(/\n/g, ' '), what)]); });
    rows.sort((a, b) => a[0] - b[0]).forEach((r) => hits.append(r[1]));
    found.textContent = rows.length === 1 ? '1 place' : `${rows.length} places`;
  }
  sought.addEventListener('input', search);

  // ---- Questions -----------------------------------------------------------------------------------------
  const panel = one('.question'), keep = `canalogue ${location.pathname}`;
  let score = {}, kept = true;
  try {
    score = JSON.parse(localStorage.getItem(keep) || '{}') || {};
  } catch (refused) {
    kept = false;
  }
  const store = () => {
    try {
      localStorage.setItem(keep, JSON.stringify(score));
    } catch (refused) {
      kept = false;
    }
  };
  // What a question asks about is not told beside the film before it is answered.
  const NEAR = 10;
  const asked = (words) => told.questions.findIndex((q, n) => q.event >= 0 && score[n] === undefined && told.events[q.event].words === words && Math.abs(q.at - told.events[q.event].at) <= NEAR);
  const words_of = (i) => {
    const open = asked(told.events[i].words);
    return open < 0 ? told.events[i].words : `Question ${open + 1} asks about this`;
  };
  const veil = () => {
    stops.forEach((e, i) => {
      e.querySelector('.words').textContent = words_of(i);
      marks[i].title = `${clock(told.events[i].at)} ${words_of(i)}`;
    });
    all('.stills li').forEach((s) => { s.hidden = asked(s.dataset.words) >= 0; });  // their words are in the picture
    if (film.poster && told.events.some((e) => asked(e.words) >= 0)) film.removeAttribute('poster');
  };
  const tell = () => {
    if (!told.questions.length) return;
    veil();
    search();
    const answers = told.questions.map((q, i) => score[i]).filter((a) => a !== undefined), right = answers.filter(Boolean).length;
    one('#score').textContent = `${right} right of ${answers.length} answered; ${told.questions.length} in all.` +
      (kept ? '' : ' This browser keeps nothing: the score goes when the page is closed.');
  };
  const does = (words, look, act) => {
    const b = made('button', look, words);
    b.type = 'button';
    b.addEventListener('click', act);
    return b;
  };
  const aim = one('.aim');
  // Where the picture of the film lies in the stage.
  const lay_aim = () => {
    const v = film.getBoundingClientRect(), s = stage.getBoundingClientRect();
    aim.style.left = `${v.left - s.left}px`;
    aim.style.top = `${v.top - s.top}px`;
    aim.style.width = `${v.width}px`;
    aim.style.height = `${v.height}px`;
  };
  addEventListener('resize', () => { if (!aim.hidden) lay_aim(); });
  document.addEventListener('fullscreenchange', () => { if (!aim.hidden) lay_aim(); lay(); });
  const cross = { x: 0.5, y: 0.5 };
  const set = (e, values) => Object.entries(values).forEach(([name, value]) => e.setAttribute(name, value));
  const draw_cross = () => {
    all('.aim .across').forEach((l) => set(l, { x1: '0%', x2: '100%', y1: `${100 * cross.y}%`, y2: `${100 * cross.y}%` }));
    all('.aim .down').forEach((l) => set(l, { y1: '0%', y2: '100%', x1: `${100 * cross.x}%`, x2: `${100 * cross.x}%` }));
    aim.setAttribute('aria-valuetext', `${Math.round(100 * cross.x)} % from the left, ${Math.round(100 * cross.y)} % from the top`);
    aim.setAttribute('aria-valuenow', String(Math.round(100 * cross.x)));
  };
  const point = (e) => {
    const r = aim.getBoundingClientRect();
    cross.x = Math.min(Math.max((e.clientX - r.left) / r.width, 0), 1);
    cross.y = Math.min(Math.max((e.clientY - r.top) / r.height, 0), 1);
    draw_cross();
  };
  const aiming = () => asking !== null && told.questions[asking].spot && !aim.classList.contains('done');
  aim.addEventListener('pointermove', (e) => { if (aiming()) point(e); });
  aim.addEventListener('click', (e) => {
    if (!aiming()) return;
    point(e);
    mark();
  });
  aim.addEventListener('keydown', (e) => {
    const step = e.shiftKey ? 0.005 : 0.02, by = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[e.key];
    if (!aiming() || (!by && e.key !== 'Enter')) return;
    e.preventDefault();
    if (!by) return mark();
    cross.x = Math.min(Math.max(cross.x + by[0] * step, 0), 1);
    cross.y = Math.min(Math.max(cross.y + by[1] * step, 0), 1);
    draw_cross();
  });
  const mark = () => {
    const s = told.questions[asking].spot;
    answer(cross.x >= s.x && cross.x <= s.x + s.width && cross.y >= s.y && cross.y <= s.y + s.height);
  };

  function ask(i) {
    const q = told.questions[i];
    asking = i;
    film.pause();
    film.currentTime = q.at + 0.5 / told.rate;  // the middle of the frame
    last = film.currentTime;
    panel.textContent = '';
    panel.hidden = false;
    theatre.classList.add('asks');
    const title = made('h2', '', `Question ${i + 1} of ${told.questions.length}: ${q.asks}`);
    title.tabIndex = -1;
    panel.append(title);
    if (q.spot) {
      panel.append(made('p', 'how', 'Mark the spot in the picture: click or touch it, or move the cross with the arrow keys and press Enter.'));
      const row = made('div', 'does');
      row.append(does('I do not know: show it', '', () => answer(false)));
      panel.append(row);
      aim.hidden = false;
      aim.classList.remove('done');
      all('.aim rect').forEach((r) => { r.style.display = 'none'; });
      cross.x = cross.y = 0.5;
      lay_aim();
      draw_cross();
      aim.focus({ preventScroll: true });
    } else {
      const choices = made('div', 'choices');
      q.choices.forEach((words, n) => {
        const b = does('', '', () => answer(n === q.right, n));
        b.append(made('b', '', String.fromCharCode(65 + n)), made('span', '', words));
        choices.append(b);
      });
      panel.append(choices);
      title.focus({ preventScroll: true });
    }
    theatre.scrollIntoView({ block: 'nearest' });
  }

  function answer(right, chosen) {
    const q = told.questions[asking];
    score[asking] = right;
    store();
    tell();
    if (q.spot) {
      aim.classList.add('done');
      all('.aim rect').forEach((r) => {
        r.style.display = 'inline';
        set(r, { x: `${100 * q.spot.x}%`, y: `${100 * q.spot.y}%`, width: `${100 * q.spot.width}%`, height: `${100 * q.spot.height}%` });
      });
    } else {
      [...panel.querySelectorAll('.choices button')].forEach((b, n) => {
        b.disabled = true;
        if (n === q.right) b.classList.add('right'), b.append(made('em', '', 'Right answer'));
        else if (n === chosen) b.classList.add('wrong'), b.append(made('em', '', 'Your answer'));
      });
    }
    panel.querySelectorAll('.does, .how').forEach((old) => old.remove());
    const verdict = made('p', 'verdict', right ? 'Right.' : q.spot ? 'Not there. The frame in the picture shows the spot.' : 'Not this one.');
    verdict.tabIndex = -1;
    panel.append(verdict);
    if (q.reveals) panel.append(made('p', '', q.reveals));
    if (q.event >= 0) {
      const near = made('p', 'near'), e = told.events[q.event];
      near.append(stops[q.event].querySelector('svg').cloneNode(true), made('span', '', `Nearest event, at ${clock(e.at)}: ${e.words}`));
      panel.append(near);
    }
    const row = made('div', 'does');
    row.append(does('Go on', 'main', () => {
      leave();
      play.focus({ preventScroll: true });
      toggle();
    }));
    panel.append(row);
    verdict.focus({ preventScroll: true });
    if (!q.spot) panel.scrollIntoView({ block: 'nearest' });
  }

  function leave() {
    asking = null;
    panel.hidden = aim.hidden = true;
    theatre.classList.remove('asks');
    last = film.currentTime;
  }
  const forget = (answers) => {
    if (asking !== null) leave();
    score = answers;
    store();
    tell();
  };
  function again(i) {
    forget({ ...score, [i]: undefined });
    ask(i);
  }
  all('.again').forEach((b) => b.addEventListener('click', () => again(Number(b.dataset.number))));
  if (one('#reset')) one('#reset').addEventListener('click', () => forget({}));

  tell();
  lay();
  show();
})();
