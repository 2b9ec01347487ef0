// Light or dark: as the machine says, until somebody says otherwise on this device. Runs before anything is drawn.
(() => {
  const root = document.documentElement;
  const rooms = { dark: "Light room", light: "Dark room" };
  const system = () => (matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light");
  const read = () => { try { return localStorage.getItem("room"); } catch { return null; } };
  const keep = (room) => { try { localStorage.setItem("room", room); } catch { /* private window: for this page only */ } };
  if (read() in rooms) root.dataset.room = read();
  document.addEventListener("DOMContentLoaded", () => {
    const button = document.querySelector("[data-room][hidden]");
    if (!button) return;
    const present = () => root.dataset.room || system();
    const label = () => { button.textContent = rooms[present()]; };
    button.hidden = false;
    label();
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", label);
    button.addEventListener("click", () => {
      root.dataset.room = present() === "dark" ? "light" : "dark";
      keep(root.dataset.room);
      label();
    });
  });
})();
