// How long until a lot is conditioned, from minute to minute. The page says the moment itself without it.

const MINUTE_MS = 60_000;

const left = (until) => {
  const minutes = Math.ceil((until - Date.now()) / MINUTE_MS);
  if (minutes <= 0) return "(it is time: load the page again)";
  const hours = Math.floor(minutes / 60);
  return `(in ${hours ? `${hours} h ` : ""}${minutes % 60} min)`;
};

const show = () =>
  document.querySelectorAll("[data-ready-at]").forEach((place) => {
    const said = left(new Date(place.dataset.readyAt));
    if (place.textContent !== said) place.textContent = said;
  });

show();
setInterval(show, MINUTE_MS / 2);
