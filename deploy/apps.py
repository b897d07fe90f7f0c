from django.apps import AppConfig
from django.contrib.auth.signals import user_logged_in
from django.core import checks
from django.db.backends.signals import connection_created

from deploy import moments_read, session_limits
from deploy.checks import ALL


class DeployConfig(AppConfig):
    name = "deploy"

    def ready(self):
        user_logged_in.connect(session_limits.stamp, dispatch_uid="deploy.session_limits")
        connection_created.connect(moments_read.use_compiled, dispatch_uid="deploy.moments_read")
        for check in ALL:
            checks.register(check, "services", deploy=True)
