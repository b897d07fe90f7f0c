"""Which kind of process this is; the web server's says so before it reads the settings."""

is_web = False
