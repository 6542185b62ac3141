"""A small mail server on this computer, for tests: it keeps what it takes and refuses whom it is told to."""

import datetime
import socketserver
import ssl
import threading
from contextlib import contextmanager

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID


class _Talk(socketserver.StreamRequestHandler):
    def say(self, text):
        self.wfile.write(text.encode() + b"\r\n")
        self.wfile.flush()

    def finish(self):
        super().finish()
        self.connection.close()

    def handle(self):
        self.server.said.append("hello")
        if self.server.turn_away:
            self.say("554 not today")
            return
        self.say("220 test")
        to, secure = [], False
        while line := self.rfile.readline():
            words = line.decode().strip()
            verb = words.split(" ")[0].split(":")[0].upper()
            self.server.said.append(words)
            if verb in ("EHLO", "HELO"):
                offers = [] if secure or self.server.context is None else ["STARTTLS"]
                offers += ["AUTH PLAIN"] if self.server.password else []
                lines = ["test", *offers]
                for place, offer in enumerate(lines):
                    self.say(f"250{' ' if place == len(lines) - 1 else '-'}{offer}")
            elif verb == "STARTTLS":
                self.say("220 go")
                self.connection = self.server.context.wrap_socket(self.connection, server_side=True)
                self.rfile, self.wfile, secure = self.connection.makefile("rb"), self.connection.makefile("wb"), True
            elif verb == "AUTH":
                import base64

                given = base64.b64decode(words.split(" ")[2]).decode().split("\0")[2]
                self.say("235 yes" if given == self.server.password else "535 wrong password")
            elif verb == "RCPT":
                address = words[words.index("<") + 1 : words.index(">")]
                refused = address in self.server.refuse
                to += [] if refused else [address]
                self.say("550 no such person" if refused else "250 yes")
            elif verb == "DATA":
                self.say("354 go on")
                body = []
                while (row := self.rfile.readline()) not in (b".\r\n", b""):
                    body.append(row)
                self.server.letters.append((tuple(to), b"".join(body).decode(), secure))
                self.say("250 taken")
            elif verb == "QUIT":
                self.say("221 bye")
                return
            else:
                self.say("250 yes")


class _Server(socketserver.ThreadingTCPServer):
    allow_reuse_address = True
    daemon_threads = True


@contextmanager
def mail_server(*, refuse=(), turn_away=False, context=None, password=""):
    """A server with `letters` (to, text, over TLS) and `said`, listening on `port`."""
    server = _Server(("127.0.0.1", 0), _Talk)
    server.letters, server.said = [], []
    server.refuse, server.turn_away, server.context, server.password = refuse, turn_away, context, password
    server.port = server.server_address[1]
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
    thread.start()
    try:
        yield server
    finally:
        server.shutdown()
        server.server_close()


def own_certificate(folder):
    """A certificate for localhost that nobody has signed: the server's context, and the file to trust it by."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "localhost")])
    now = datetime.datetime.now(datetime.UTC)
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - datetime.timedelta(days=1))
        .not_valid_after(now + datetime.timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName("localhost")]), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .sign(key, hashes.SHA256())
    )
    shown, secret = folder / "trust.pem", folder / "secret.pem"
    shown.write_bytes(made.public_bytes(serialization.Encoding.PEM))
    kept = serialization.PrivateFormat.PKCS8
    secret.write_bytes(key.private_bytes(serialization.Encoding.PEM, kept, serialization.NoEncryption()))
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(shown, secret)
    return context, shown
