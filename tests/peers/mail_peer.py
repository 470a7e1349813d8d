"""A real mail server for the tests: aiosmtpd with a handler that behaves as
told, certificates made by openssl for the occasion.

Needs the system's Python with python3-aiosmtpd, and openssl."""

import asyncio
import logging
import pathlib
import socket
import ssl
import subprocess
import threading

from aiosmtpd.smtp import SMTP, AuthResult

logging.getLogger("mail.log").setLevel(logging.CRITICAL)
USER, PASSWORD = "ann@bush.test", "maple bark 7"


def make_certificate(folder, host="mail.test"):
    """A certificate authority and a server's certificate signed by it:
    (authority, certificate, key)."""
    folder = pathlib.Path(folder)

    def openssl(*words):
        subprocess.run(["openssl", *words], check=True, cwd=folder,
                       capture_output=True)

    openssl("req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2",
            "-keyout", "ca.key", "-out", "ca.pem", "-subj", "/CN=test root")
    openssl("req", "-newkey", "rsa:2048", "-nodes", "-keyout", "mail.key",
            "-out", "mail.csr", "-subj", f"/CN={host}")
    (folder / "ext").write_text(
        f"subjectAltName=DNS:{host},DNS:localhost,IP:127.0.0.1\n")
    openssl("x509", "-req", "-in", "mail.csr", "-CA", "ca.pem", "-CAkey",
            "ca.key", "-CAcreateserial", "-days", "2", "-out", "mail.pem",
            "-extfile", "ext")
    return folder / "ca.pem", folder / "mail.pem", folder / "mail.key"


class Got:
    """A mail that the server has been given."""

    def __init__(self, envelope, session, encrypted, taken):
        self.sender = envelope.mail_from
        self.recipients = list(envelope.rcpt_tos)
        self.bytes = envelope.original_content or b""
        self.ehlo = session.host_name
        self.login = bool(session.authenticated)
        self.encrypted = encrypted
        self.taken = taken


class Handler:
    """`behave(step, session, envelope)` may return an answer, seconds to wait
    before the usual one, "hang" or "drop"; None is the usual answer. Steps:
    ehlo, mail, rcpt, body, taken (accepted, before the answer), quit."""

    def __init__(self, behave):
        self.behave = behave or (lambda step, session, envelope: None)
        self.mails = []
        self.commands = []

    async def _asked(self, step, server, session, envelope):
        answer = self.behave(step, session, envelope)
        self.commands.append(step)
        if isinstance(answer, float):
            await asyncio.sleep(answer)
            return None
        if answer == "hang":
            await asyncio.sleep(3600)
        if answer == "drop":
            server.transport.abort()
            await asyncio.sleep(3600)
        return answer

    async def handle_EHLO(self, server, session, envelope, hostname,
                          responses):
        session.host_name = hostname
        answer = await self._asked("ehlo", server, session, envelope)
        return [answer] if answer else responses

    async def handle_MAIL(self, server, session, envelope, address, options):
        answer = await self._asked("mail", server, session, envelope)
        envelope.mail_from = address
        envelope.mail_options.extend(options)
        return answer or "250 2.1.0 sender taken"

    async def handle_RCPT(self, server, session, envelope, address, options):
        envelope.rcpt_tos.append(address)
        answer = await self._asked("rcpt", server, session, envelope)
        if answer:
            envelope.rcpt_tos.pop()
        return answer or "250 2.1.5 recipient taken"

    async def handle_DATA(self, server, session, envelope):
        answer = await self._asked("body", server, session, envelope)
        encrypted = server.transport.get_extra_info("sslcontext") is not None
        self.mails.append(Got(envelope, session, encrypted, not answer))
        if answer:
            return answer
        await self._asked("taken", server, session, envelope)
        return "250 2.0.0 taken"

    async def handle_QUIT(self, server, session, envelope):
        await self._asked("quit", server, session, envelope)
        return "221 2.0.0 bye"

    @property
    def taken(self):
        return [mail for mail in self.mails if mail.taken]


def login_check(server, session, envelope, mechanism, data):
    good = (getattr(data, "login", b"") == USER.encode()
            and getattr(data, "password", b"") == PASSWORD.encode())
    return AuthResult(success=good, handled=good)


class MailServer:
    """with MailServer(behave=…) as server: … server.port, server.handler.

    tls: "" none, "starttls", "smtps". auth: False, True."""

    def __init__(self, behave=None, tls="", auth=False, certificate=None,
                 port=0, address="127.0.0.1", **settings):
        self.handler = Handler(behave)
        self.tls, self.certificate = tls, certificate
        self.settings = dict(hostname="mail.test", ident="test peer",
                             timeout=120, **settings)
        if auth:
            self.settings.update(authenticator=login_check,
                                 auth_require_tls=bool(tls))
        else:
            self.settings["auth_exclude_mechanism"] = ["LOGIN", "PLAIN"]
        self.loop = asyncio.new_event_loop()
        self.port, self.address = port, address

    def _context(self):
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(self.certificate[1], self.certificate[2])
        return context

    def _session(self):
        settings = dict(self.settings)
        if self.tls == "starttls":
            settings["tls_context"] = self._context()
        if self.tls == "smtps" and "authenticator" in settings:
            settings["auth_require_tls"] = False
        return SMTP(self.handler, loop=self.loop, **settings)

    def _run(self):
        asyncio.set_event_loop(self.loop)
        self.server = self.loop.run_until_complete(self.loop.create_server(
            self._session, self.address, self.port,
            ssl=self._context() if self.tls == "smtps" else None,
            reuse_address=True))
        self.port = self.server.sockets[0].getsockname()[1]
        self.started.set()
        self.loop.run_forever()

    def __enter__(self):
        self.started = threading.Event()
        self.thread = threading.Thread(target=self._run, daemon=True)
        self.thread.start()
        if not self.started.wait(20):
            raise RuntimeError("the mail server does not start")
        return self

    def __exit__(self, *_):
        async def end():
            self.server.close()
            for task in asyncio.all_tasks():
                if task is not asyncio.current_task():
                    task.cancel()

        try:
            asyncio.run_coroutine_threadsafe(end(), self.loop).result(5)
        finally:
            self.loop.call_soon_threadsafe(self.loop.stop)
            self.thread.join(5)


def outer_address():
    """This machine's address on a network, or None; nothing is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # RFC 5737: nobody's
        except OSError:
            return None
        address = probe.getsockname()[0]
    return None if address.startswith(("127.", "0.")) else address
