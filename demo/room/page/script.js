// The page of the local chat room: two chats side by side, a clock on top, news as they come.
import {Pane} from "/page/pane.js";
import {ask, send} from "/page/room.js";
import {clockWords, ZONE} from "/page/words.js";

const byId = (id) => document.getElementById(id);
const panes = {
  left: new Pane(document.querySelector("[data-side=left]"), "left", "The client’s chat"),
  right: new Pane(document.querySelector("[data-side=right]"), "right", "The therapist’s chat"),
};
const everyPane = Object.values(panes);

// The clock: the room's instant, carried on by this machine's clock where the room's runs.
let shown = {now: Date.now(), at: performance.now(), frozen: true};

function tick() {
  const now = new Date(shown.now + (shown.frozen ? 0 : performance.now() - shown.at));
  const words = clockWords(now);
  byId("time").textContent = words.time;
  byId("time").dateTime = now.toISOString();
  byId("day").textContent = words.day;
}

function setClock(iso) {
  shown = {...shown, now: Date.parse(iso), at: performance.now()};
  tick();
}

function setMoving(moving) {
  document.body.classList.toggle("moving", moving);
  for (const button of document.querySelectorAll("[data-step]")) button.disabled = moving;
  byId("stop").hidden = !moving;
  if (!moving) byId("progress").value = 0;
}

async function move(step, button) {
  setMoving(true);
  byId("move-note").textContent = "The clock moves; the programme works through the time between.";
  const told = await send("clock", {step, zone: ZONE});
  setMoving(false);
  if (told.now) setClock(told.now);
  byId("move-note").textContent = told.error ?? (told.moved === false ? `Not moved: ${told.why}.` : "");
  button.focus();
}

for (const button of document.querySelectorAll("[data-step]")) {
  button.addEventListener("click", () => move(button.dataset.step, button));
}
byId("stop").addEventListener("click", () => send("clock", {stop: true}));

// People.
let people = [];

function showPeople() {
  const wanted = new URLSearchParams(location.search);
  everyPane.forEach((pane, place) => {
    const asked = Number(wanted.get(pane.side)) || people[place]?.id || null;
    pane.setPeople(people, asked);
  });
}

function putPerson(person) {
  const place = people.findIndex((known) => known.id === person.id);
  if (place < 0) people.push(person);
  else people[place] = person;
  showPeople();
}

byId("newcomer").addEventListener("submit", async (event) => {
  event.preventDefault();
  const form = event.target;
  const note = byId("newcomer-note");
  const person = await send("people", {name: form.name.value, language_code: form.language.value});
  if (person.error) {
    note.textContent = person.error;
    return;
  }
  putPerson(person);
  panes[form.side.value].choose(person.id);
  note.textContent = `${person.name} opens the chat …`;
  const told = await send("start", {person: person.id, payload: form.invite.value});
  note.textContent = told.error ?? `${person.name} has opened the chat.`;
  if (!told.error) form.reset();
});

// An invite that stands in a chat can be handed to the form.
document.addEventListener("invite", (event) => {
  const form = byId("newcomer");
  form.invite.value = event.detail;
  form.name.focus();
});

// News.
async function loadAll() {
  const [clock, everybody] = await Promise.all([ask(`clock?zone=${encodeURIComponent(ZONE)}`), ask("people")]);
  shown.frozen = clock.frozen;
  setClock(clock.now);
  setMoving(clock.moving);
  byId("clock-note").textContent =
    `${clock.frozen ? "Stands still until it is moved" : "Runs at the usual speed"} · ${ZONE}`;
  people = everybody;
  showPeople();
  await Promise.all(everyPane.map((pane) => pane.load()));
}

const news = new EventSource("/room/events");
news.addEventListener("open", loadAll);
const listen = (kind, act) => news.addEventListener(kind, (event) => act(JSON.parse(event.data)));
listen("message", (message) => everyPane.forEach((pane) => pane.put(message)));
listen("changed", (message) => everyPane.forEach((pane) => pane.put(message)));
listen("answer", (answer) => everyPane.forEach((pane) => pane.answer(answer)));
listen("person", putPerson);
listen("commands", () => everyPane.forEach((pane) => pane.refreshCommands()));
listen("clock", (clock) => setClock(clock.now));
listen("progress", (walk) => {
  setMoving(!walk.done);
  if (!walk.done) byId("progress").value = walk.share;
});
setInterval(tick, 1000);
