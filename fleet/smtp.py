"""Django's SMTP backend with a limit on a whole mail, and a call before its text goes out.

It also holds the points at which a trial may end the process.
"""

import contextlib
import smtplib
import socket
import threading
from functools import lru_cache

from django.core.mail.backends import smtp
from django.core.mail.message import sanitize_address

from fleet.shared_mail import CHARSET, SharedMail
from shared.trials import kill_point

ADDRESSES_KEPT = 128
END_OF_MAIL = b"\r\n.\r\n"


class Talk(smtplib.SMTP):
    """A conversation that can be cut off from outside, and tells when a mail's text is due."""

    before_data = staticmethod(lambda: None)
    cord = None

    def _get_socket(self, host, port, timeout):
        found = super()._get_socket(host, port, timeout)
        self.cord.tie(found)
        return found

    def rcpt(self, *args, **kwargs):
        answer = super().rcpt(*args, **kwargs)
        kill_point("after-rcpt")
        return answer

    def data(self, msg):
        self.before_data()
        try:
            answer = super().data(msg)
        except smtplib.SMTPDataError:
            # smtplib leaves this mail begun, and the next one would be refused for it
            self._rset()
            raise
        kill_point("after-250")
        return answer

    def send(self, s):
        super().send(s)
        if isinstance(s, bytes) and s.endswith(END_OF_MAIL):
            kill_point("before-250")


class SecretTalk(smtplib.SMTP_SSL, Talk):
    """The same over TLS; the cord is tied before the handshake, which may drip as well."""


class Cord:
    """Cuts a connection off when a limit is over, whichever thread waits for its bytes.

    The limit of a socket starts again with each byte that comes. Holds a second handle of the
    connection: the first one is given away when it is wrapped for TLS.
    """

    def __init__(self):
        self.handle = None
        self.was_pulled = False

    def tie(self, connection):
        self.untie()
        self.handle = connection.dup()

    def untie(self):
        if self.handle is not None:
            self.handle.close()
            self.handle = None

    def pull(self):
        self.was_pulled = True
        if self.handle is not None:
            with contextlib.suppress(OSError):
                self.handle.shutdown(socket.SHUT_RDWR)

    @contextlib.contextmanager
    def limit(self, limit_s):
        """Raise TimeoutError when the block takes longer and fails of it."""
        self.was_pulled = False
        timer = threading.Timer(limit_s, self.pull)
        timer.daemon = True
        timer.start()
        try:
            yield
        except OSError as error:
            if self.was_pulled:
                raise TimeoutError("the mail server took too long") from error
            raise
        finally:
            timer.cancel()


@lru_cache(ADDRESSES_KEPT)
def _address(said):
    return sanitize_address(said, CHARSET)


class EmailBackend(smtp.EmailBackend):
    """Sends over one conversation that a cord is tied to."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.cord = Cord()

    @property
    def connection_class(self):
        kind = SecretTalk if self.use_ssl else Talk
        # smtplib connects while it is made: what it needs must be there before
        return type(kind.__name__, (kind,), {"cord": self.cord})

    def _send(self, email_message):
        # as Django's own does, but addresses are looked at once
        if not isinstance(email_message, SharedMail):
            return super()._send(email_message)
        sender, *people = map(_address, [email_message.from_email, *email_message.recipients()])
        text = email_message.message().as_bytes(linesep="\r\n")
        self.connection.sendmail(sender, people, text)
        return True

    def call_before_data(self, act):
        """Have ``act`` called once the recipient of the next mail is taken, before its text."""
        self.connection.before_data = act

    def close(self):
        try:
            super().close()
        finally:
            self.cord.untie()
