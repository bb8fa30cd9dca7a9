// Makes or shows a passkey when a form is sent whose input[data-passkey] is empty and in which no code was typed, then
// sends the form. The challenge is fetched at that moment, so a page may have been open for long.

const bytes = (text) =>
  Uint8Array.from(atob(text.replace(/-/g, "+").replace(/_/g, "/")), (letter) => letter.charCodeAt(0));

const words = (buffer) =>
  btoa(String.fromCharCode(...new Uint8Array(buffer)))
    .replace(/\+/g, "-")
    .replace(/\//g, "_")
    .replace(/=+$/, "");

const keys = (list) => (list ?? []).map((key) => ({ ...key, id: bytes(key.id) }));

const fetched = async (form, said, ceremony) => {
  const body = new URLSearchParams({ ceremony });
  body.set("csrfmiddlewaretoken", form.elements.csrfmiddlewaretoken.value);
  const answer = await fetch(said.dataset.challenge, { method: "POST", body, credentials: "same-origin" });
  const type = answer.headers.get("Content-Type") ?? "";
  const told = type.includes("json") ? await answer.json() : {};
  if (!answer.ok) throw new Error(told.why ?? "The page is too old. Load it anew.");
  return told;
};

const made = async (options) => {
  const user = { ...options.user, id: bytes(options.user.id) };
  const publicKey = {
    ...options,
    user,
    challenge: bytes(options.challenge),
    excludeCredentials: keys(options.excludeCredentials),
  };
  const key = await navigator.credentials.create({ publicKey });
  const { clientDataJSON, attestationObject } = key.response;
  return [key, { clientDataJSON: words(clientDataJSON), attestationObject: words(attestationObject) }];
};

const shown = async (options) => {
  const publicKey = {
    ...options,
    challenge: bytes(options.challenge),
    allowCredentials: keys(options.allowCredentials),
  };
  const key = await navigator.credentials.get({ publicKey });
  const { clientDataJSON, authenticatorData, signature } = key.response;
  const response = {
    clientDataJSON: words(clientDataJSON),
    authenticatorData: words(authenticatorData),
    signature: words(signature),
  };
  return [key, response];
};

const ceremony = async (form, said, kind) => {
  if (!window.PublicKeyCredential) throw new Error("This browser has no passkeys, or the address is not secure.");
  const options = await fetched(form, said, kind);
  const [key, response] = await (kind === "create" ? made(options) : shown(options));
  return JSON.stringify({ id: key.id, rawId: words(key.rawId), type: key.type, response });
};

const explained = (error) => {
  if (error.name === "InvalidStateError") return "This device has a passkey of yours already.";
  if (error.name === "NotAllowedError") return "No passkey was given: it was called off, or took too long. Press again.";
  return error.message;
};

const enhance = (input) => {
  const form = input.form;
  const said = form.querySelector("[data-passkey-said]");
  const kind = input.dataset.passkey;
  let busy = false;
  form.addEventListener("submit", async (event) => {
    const code = kind === "get" ? form.elements.one_time_code : null;
    if (input.value || code?.value.trim()) return;
    event.preventDefault();
    if (busy) return;
    busy = true;
    said.hidden = true;
    try {
      input.value = await ceremony(form, said, kind);
      form.requestSubmit(event.submitter);
    } catch (error) {
      said.querySelector("span").textContent = explained(error);
      said.hidden = false;
    } finally {
      busy = false;
    }
  });
  // a page that comes back from the browser's memory must not send an answer twice
  window.addEventListener("pageshow", () => {
    input.value = "";
  });
};

document.querySelectorAll("input[data-passkey]").forEach(enhance);
