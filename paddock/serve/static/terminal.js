// The page around the terminal: keys to tap, swipes that scroll, the device's keyboard on demand.
(() => {
  "use strict";
  const SWIPE_UP = 65, SWIPE_DOWN = 64;
  let socket = null;
  const size = { width: 80, height: 24 };
  window.paddockSize = size;

  // The tab's own name: a page loaded again gets back what was half typed.
  function tabName() {
    try {
      const made = Array.from(crypto.getRandomValues(new Uint32Array(4)), (part) => part.toString(36)).join("").slice(0, 24);
      const name = sessionStorage.getItem("paddock-tab") || made.padEnd(8, "0");
      sessionStorage.setItem("paddock-tab", name);
      return name;
    } catch {
      return "";
    }
  }

  function named(url) {
    const place = new URL(url, document.baseURI), tab = tabName();
    if (tab) place.searchParams.set("tab", tab);
    return place.href;
  }

  // The terminal's script keeps its connection to itself; this one is let in when it is made.
  const Native = window.WebSocket;
  let heard = 0, ended = false;
  window.WebSocket = class extends Native {
    constructor(url) {
      super(named(url));
      socket = window.paddockSocket = this;
      this.addEventListener("message", () => { heard = Date.now(); });
      this.addEventListener("close", (event) => {
        ended = event.code === 1000;  // the program was left on purpose: it stays left
        if (!ended) comeBack();
      });
    }
    send(text) {
      const message = JSON.parse(text);
      if (message[0] === "resize") Object.assign(size, message[1]);
      if (this.readyState === Native.OPEN) super.send(text);
    }
  };

  function type(text) {
    if (socket && socket.readyState === Native.OPEN) socket.send(JSON.stringify(["stdin", text]));
  }

  // After the device slept, or the network was gone: load the page again as soon as the server answers.
  let coming = false;
  async function comeBack() {
    if (coming) return;
    coming = true;
    for (let tries = 0; tries < 300; tries += 1) {
      if (!document.hidden) {
        try {
          await fetch("own/terminal.css", { cache: "no-store" });
          window.location.reload();
          return;
        } catch {
          // not there yet
        }
      }
      await new Promise((resolve) => setTimeout(resolve, 1000));
    }
    coming = false;
  }

  function lookAgain() {
    if (document.hidden || socket === null || ended) return;
    if (socket.readyState !== Native.OPEN) {
      if (socket.readyState !== Native.CONNECTING) comeBack();
      return;
    }
    const asked = Date.now();
    socket.send(JSON.stringify(["ping", asked]));
    setTimeout(() => { if (heard < asked && !document.hidden) comeBack(); }, 4000);
  }
  document.addEventListener("visibilitychange", lookAgain);
  window.addEventListener("online", lookAgain);
  window.addEventListener("pageshow", (event) => { if (event.persisted) lookAgain(); });

  function cellAt(terminal, touch) {
    const screen = (terminal.querySelector(".xterm-screen") || terminal).getBoundingClientRect();
    const high = screen.height / size.height, wide = screen.width / size.width;
    const column = Math.min(Math.max(Math.floor((touch.clientX - screen.left) / wide) + 1, 1), size.width);
    const line = Math.min(Math.max(Math.floor((touch.clientY - screen.top) / high) + 1, 1), size.height);
    return { column, line, high };
  }

  function scrollBySwipe(terminal) {
    let last = null;
    terminal.addEventListener("touchstart", (event) => {
      last = event.touches.length === 1 ? event.touches[0].clientY : null;
    }, { passive: true });
    terminal.addEventListener("touchmove", (event) => {
      if (last === null || event.touches.length !== 1) return;
      const touch = event.touches[0];
      const { column, line, high } = cellAt(terminal, touch);
      while (Math.abs(touch.clientY - last) >= high) {
        const up = touch.clientY < last;
        type(`\x1b[<${up ? SWIPE_UP : SWIPE_DOWN};${column};${line}M`);
        last += up ? -high : high;
      }
    }, { passive: true });
  }

  function useKeys() {
    for (const button of document.querySelectorAll("#keys button")) {
      button.addEventListener("mousedown", (event) => event.preventDefault());
    }
    for (const button of document.querySelectorAll("[data-send]")) {
      button.addEventListener("click", () => type(JSON.parse(button.dataset.send)));
    }
    const more = document.getElementById("more");
    more.addEventListener("click", () => {
      more.setAttribute("aria-expanded", document.body.classList.toggle("all-keys"));
      window.dispatchEvent(new Event("resize"));
    });
  }

  function useSoftKeyboard(touch) {
    const soft = document.getElementById("soft");
    const set = (on) => {
      const field = document.querySelector(".xterm-helper-textarea");
      if (!field) return;
      field.setAttribute("inputmode", on ? "text" : "none");
      for (const [name, value] of [["autocomplete", "off"], ["autocapitalize", "off"], ["enterkeyhint", "enter"]]) {
        field.setAttribute(name, value);
      }
      soft.setAttribute("aria-pressed", on);
      field.blur();
      field.focus();
    };
    soft.addEventListener("click", () => set(soft.getAttribute("aria-pressed") !== "true"));
    set(!touch);
  }

  document.addEventListener("DOMContentLoaded", () => {
    const terminal = document.getElementById("terminal");
    const place = new URL("ws", document.baseURI);
    place.protocol = place.protocol === "https:" ? "wss:" : "ws:";
    terminal.dataset.sessionWebsocketUrl = place.href.split("?")[0];
    const asked = new URLSearchParams(window.location.search).get("keys");
    const touch = window.matchMedia("(pointer: coarse)").matches;
    document.body.classList.toggle("keys", asked === null ? touch : asked !== "0");
    document.getElementById("again").addEventListener("click", () => window.location.reload());
    scrollBySwipe(terminal);
    useKeys();
    window.addEventListener("load", () => setTimeout(() => useSoftKeyboard(touch), 0));
  });
})();
