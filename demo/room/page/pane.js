// One chat: choose who you are, read, press, write.
import {entry, dayLine} from "/page/entry.js";
import {ask, send, sendFile} from "/page/room.js";
import {dayOf} from "/page/words.js";

const SLOW_MS = 400; // an answer that takes longer is announced

export class Pane {
  constructor(section, side, title) {
    this.side = side;
    this.person = null;
    this.people = [];
    this.messages = new Map();
    this.missed = null; // while the chat is fetched: what came meanwhile
    this.fetches = 0; // only the last one is shown: an earlier one may have been answered before the news
    this.atEnd = true; // whether new lines shall be followed
    section.append(document.getElementById("pane").content.cloneNode(true));
    this.find = (selector) => section.querySelector(selector);
    const heading = this.find("h2");
    heading.id = `${side}-title`;
    heading.textContent = title;
    this.select = this.find(".person");
    this.log = this.find(".log");
    this.log.setAttribute("aria-labelledby", heading.id);
    this.list = this.find(".log ol");
    this.words = this.find(".words");
    this.listen();
  }

  listen() {
    this.log.addEventListener("scroll", () => {
      this.atEnd = this.log.scrollHeight - this.log.scrollTop - this.log.clientHeight < 60;
    });
    new ResizeObserver(() => this.follow()).observe(this.log);
    this.log.addEventListener("load", () => this.follow(), true); // a picture takes its room late
    this.select.addEventListener("change", () => this.choose(Number(this.select.value)));
    this.find(".write").addEventListener("submit", (event) => {
      event.preventDefault();
      this.write();
    });
    this.words.addEventListener("keydown", (event) => {
      if (event.key === "Enter" && !event.shiftKey && !event.isComposing) {
        event.preventDefault();
        this.write();
      }
    });
    this.words.addEventListener("input", () => this.fitWords());
    this.find(".others").addEventListener("click", (event) => {
      const {do: what} = event.target.dataset;
      if (what) this.doOther(what);
    });
    this.find("input[type=file]").addEventListener("change", async (event) => {
      const [file] = event.target.files;
      if (file) await this.during(sendFile(this.person, file));
      event.target.value = "";
    });
  }

  // People and the choice between them.
  setPeople(people, asked) {
    this.people = people;
    const options = people.map((person) => new Option(person.name, person.id));
    this.select.replaceChildren(...(options.length ? options : [new Option("nobody yet", "")]));
    this.select.disabled = !people.length;
    if (this.person === null && asked !== null && people.some((person) => person.id === asked)) this.choose(asked);
    else if (this.person !== null) this.select.value = this.person;
    this.showState();
  }

  choose(person) {
    this.person = person;
    this.missed = null;
    this.select.value = person;
    this.showState();
    return this.load();
  }

  get self() {
    return this.people.find((person) => person.id === this.person);
  }

  get isOpen() {
    return Boolean(this.self?.started && !this.self.blocked && !this.self.deactivated);
  }

  showState() {
    const self = this.self;
    this.find(".send").textContent = this.isOpen || !self ? "Send" : "Start";
    this.find(".send").disabled = !self || self.deactivated;
    this.words.disabled = !self || self.deactivated;
    this.words.placeholder = this.isOpen ? "Write …" : self?.blocked ? "The bot is blocked." : "Invite link, or nothing";
    this.find("[data-do=block]").textContent = self?.blocked ? "Unblock the bot" : "Block the bot";
    for (const control of this.find(".others").querySelectorAll("button, input")) control.disabled = !this.isOpen;
    this.find("[data-do=block]").disabled = !self?.started;
    if (self?.deactivated) this.say(`${self.name} has closed the account.`);
  }

  // Reading.
  async load() {
    if (this.person === null) return;
    const fetch = ++this.fetches;
    this.missed ??= [];
    const told = await ask(`chats/${this.person}?tail=200`);
    if (fetch !== this.fetches || told.error) return;
    this.messages.clear();
    this.log.removeAttribute("aria-live"); // what was there before is not news
    this.list.replaceChildren();
    for (const message of [...told.messages, ...(this.missed ?? [])]) this.place(message);
    const newest = (this.missed ?? []).filter((message) => message.from_bot).at(-1);
    this.missed = null;
    this.log.setAttribute("aria-live", "polite");
    this.showSlip(newest ?? told.notification); // what came while we asked is newer than the answer
    this.showCommands(told.commands);
    this.atEnd = true;
    this.follow();
  }

  follow() {
    if (this.atEnd) this.log.scrollTop = this.log.scrollHeight;
  }

  put(message) {
    if (message.chat !== this.person) return;
    this.missed?.push(message);
    const isNew = !this.messages.has(message.message_id);
    this.place(message);
    if (message.from_bot && isNew) this.showSlip(message);
    this.follow();
  }

  place(message) {
    const old = this.messages.get(message.message_id)?.element;
    const element = entry(message, (button) => this.press(message, button));
    if (old) {
      const place = [...old.querySelectorAll("button")].indexOf(document.activeElement);
      old.replaceWith(element);
      if (place >= 0) (element.querySelectorAll("button")[place] ?? this.words).focus();
    } else {
      const last = [...this.messages.values()].at(-1)?.message;
      if (!last || dayOf(last.at) !== dayOf(message.at)) this.list.append(dayLine(message.at));
      this.list.append(element);
    }
    this.messages.set(message.message_id, {message, element});
  }

  showSlip(message) {
    const slip = this.find(".slip");
    slip.classList.toggle("silent", Boolean(message?.silent));
    this.find(".slip-title").textContent =
      message?.silent ? "On the locked phone, without a sound" : "On the locked phone";
    this.find(".slip-text").textContent = message ? message.preview : "Nothing yet.";
  }

  showCommands(commands) {
    const buttons = commands.map(({command, description}) => {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = `/${command}`;
      button.title = description;
      button.addEventListener("click", () => this.act("say", {text: `/${command}`}));
      return button;
    });
    this.find(".commands").replaceChildren(...buttons);
  }

  answer(answer) {
    if (answer.person === this.person && answer.text) this.say(`Note on the button: ${answer.text}`);
  }

  // Acting.
  async write() {
    const text = this.words.value.trim();
    if (this.isOpen && !text) return;
    this.words.value = "";
    this.fitWords();
    const told = await (this.isOpen ? this.act("say", {text}) : this.act("start", {payload: text}));
    if (told.error && !this.words.value) this.words.value = text;
  }

  async refreshCommands() {
    const asked = this.person;
    const told = await ask(`chats/${asked}?tail=1`);
    if (asked === this.person && told.commands) this.showCommands(told.commands);
  }

  press(message, button) {
    return this.act("press", {message_id: message.message_id, data: button.data, label: button.text});
  }

  doOther(what) {
    if (what === "block") return this.act(this.self.blocked ? "unblock" : "block", {});
    if (what === "edit") return this.editLast();
    return this.act("send-media", {kind: what});
  }

  editLast() {
    const own = [...this.messages.values()].map(({message}) => message).filter((m) => !m.from_bot && !m.media);
    const last = own.at(-1);
    const text = last && window.prompt("Change your last words to:", last.text);
    if (text) this.act("edit", {message_id: last.message_id, text});
  }

  act(path, fields) {
    return this.during(send(path, {person: this.person, ...fields}));
  }

  async during(work) {
    this.say("");
    const slow = setTimeout(() => this.say("The programme is at work …"), SLOW_MS);
    const told = await work;
    clearTimeout(slow);
    if (told.error) this.say(told.error);
    else if (told.settled === false && told.why !== "no bot has registered") this.say(told.why);
    else if (this.find(".status").textContent === "The programme is at work …") this.say("");
    return told;
  }

  say(text) {
    this.find(".status").textContent = text;
  }

  fitWords() {
    this.words.rows = Math.min(6, this.words.value.split("\n").length);
  }
}
