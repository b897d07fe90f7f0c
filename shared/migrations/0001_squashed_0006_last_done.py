import django.db.models.deletion
import shared.models.fact
import uuid6
from django.conf import settings
from django.db import migrations, models

from shared.tables_at_once import TablesAtOnce


class Migration(TablesAtOnce):

    initial = True
    replaces = [
        ('shared', '0001_initial'),
        ('shared', '0002_sealed_history'),
        ('shared', '0003_surveyor_access'),
        ('shared', '0004_surveyor_sign_in'),
        ('shared', '0005_photos_of_readings'),
        ('shared', '0006_last_done'),
    ]

    dependencies = [
    ]

    operations = [
        migrations.CreateModel(
            name='Site',
            fields=[
                ('id', models.UUIDField(default=uuid6.uuid7, editable=False, primary_key=True, serialize=False)),
                ('slug', models.SlugField(max_length=40, unique=True)),
                ('name', models.CharField(max_length=120)),
                ('zone', models.CharField(max_length=60)),
                ('units', models.CharField(choices=[('metric', 'N·m, mm, km'), ('inch', 'lbf·ft, in, mi')], default='inch', max_length=8)),
                ('date_order', models.CharField(choices=[('ymd', 'year-month-day'), ('mdy', 'month/day/year'), ('dmy', 'day/month/year')], default='mdy', max_length=4)),
                ('working_days', models.CharField(default='1234567', max_length=7)),
                ('closures', models.JSONField(blank=True, default=list)),
                ('digest_hour', models.PositiveSmallIntegerField(default=6)),
                ('mechanic_minutes_a_day', models.PositiveIntegerField(default=312)),
                ('start_day', models.DateField(blank=True, null=True)),
            ],
            options={
                'ordering': ['name'],
            },
        ),
        migrations.CreateModel(
            name='LastDone',
            fields=[
                ('what', models.CharField(choices=[('sweep', 'Sweep'), ('sweep by beat', 'Sweep By Beat'), ('sweep by loop', 'Sweep By Loop'), ('backup', 'Backup'), ('backup failed', 'Backup Failed'), ('restore proved', 'Restore Proved'), ('restore not proved', 'Restore Not Proved'), ('mail reached', 'Mail Reached'), ('mail not reached', 'Mail Not Reached'), ('clock stepped', 'Clock Stepped')], max_length=20, primary_key=True, serialize=False)),
                ('at', models.DateTimeField()),
                ('said', models.JSONField(default=dict)),
            ],
            options={
                'ordering': ['what'],
            },
        ),
        migrations.CreateModel(
            name='JournalHead',
            fields=[
                ('site', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='+', serialize=False, to='shared.site')),
                ('size', models.PositiveBigIntegerField(default=0)),
                ('epoch', models.PositiveIntegerField(default=1)),
                ('last_received_at', models.DateTimeField(null=True)),
            ],
        ),
        migrations.CreateModel(
            name='Person',
            fields=[
                ('password', models.CharField(max_length=128, verbose_name='password')),
                ('last_login', models.DateTimeField(blank=True, null=True, verbose_name='last login')),
                ('id', models.UUIDField(default=uuid6.uuid7, editable=False, primary_key=True, serialize=False)),
                ('email', models.EmailField(max_length=254, unique=True)),
                ('name', models.CharField(max_length=120)),
                ('is_active', models.BooleanField(default=True)),
                ('left_hand', models.BooleanField(default=False)),
                ('home_site', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='shared.site')),
            ],
            options={
                'ordering': ['name'],
            },
        ),
        migrations.CreateModel(
            name='Restore',
            fields=[
                ('id', models.UUIDField(default=shared.models.fact.new_id, editable=False, primary_key=True, serialize=False)),
                ('done_at', models.DateTimeField()),
                ('day_only', models.BooleanField(default=False)),
                ('written_at', models.DateTimeField()),
                ('received_at', models.DateTimeField(editable=False)),
                ('brought_in', models.BooleanField(default=False)),
                ('corrects', models.UUIDField(blank=True, null=True)),
                ('why_corrected', models.TextField(blank=True)),
                ('epoch', models.PositiveIntegerField()),
                ('missing_from', models.PositiveBigIntegerField()),
                ('missing_to', models.PositiveBigIntegerField()),
                ('outside', models.TextField()),
                ('reason', models.TextField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='shared.site')),
            ],
            options={
                'ordering': ['done_at', 'id'],
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='SignInTry',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('wanted', models.CharField(choices=[('sign-in', 'Sign In'), ('new password', 'New Password'), ('code', 'Code')], max_length=12)),
                ('account', models.CharField(max_length=64)),
                ('address', models.GenericIPAddressField()),
                ('tried_at', models.DateTimeField()),
            ],
            options={
                'ordering': ['tried_at'],
                'indexes': [models.Index(fields=['account', 'tried_at'], name='try_of_account'), models.Index(fields=['address', 'tried_at'], name='try_from_address')],
            },
        ),
        migrations.CreateModel(
            name='Strike',
            fields=[
                ('id', models.UUIDField(default=shared.models.fact.new_id, editable=False, primary_key=True, serialize=False)),
                ('done_at', models.DateTimeField()),
                ('day_only', models.BooleanField(default=False)),
                ('written_at', models.DateTimeField()),
                ('received_at', models.DateTimeField(editable=False)),
                ('brought_in', models.BooleanField(default=False)),
                ('corrects', models.UUIDField(blank=True, null=True)),
                ('why_corrected', models.TextField(blank=True)),
                ('cart_id', models.UUIDField(blank=True, null=True)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='shared.site')),
            ],
            options={
                'ordering': ['done_at', 'id'],
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='SurveyorLink',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('token_sha256', models.CharField(max_length=64, unique=True)),
                ('code', models.CharField(max_length=128)),
                ('made_at', models.DateTimeField()),
                ('withdrawn_at', models.DateTimeField(null=True)),
                ('made_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('person', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('withdrawn_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['made_at'],
            },
        ),
        migrations.CreateModel(
            name='Entry',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('seq', models.PositiveBigIntegerField()),
                ('fact_id', models.UUIDField(unique=True)),
                ('kind', models.CharField(max_length=60)),
                ('cart_id', models.UUIDField(null=True)),
                ('corrects', models.UUIDField(null=True, unique=True)),
                ('received_at', models.DateTimeField()),
                ('body', models.BinaryField()),
                ('salt', models.BinaryField(max_length=16)),
                ('leaf', models.BinaryField(max_length=32)),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='shared.site')),
            ],
            options={
                'ordering': ['site', 'seq'],
                'indexes': [models.Index(fields=['cart_id', 'seq'], name='entry_of_cart')],
                'constraints': [models.UniqueConstraint(fields=('site', 'seq'), name='entry_gapless_key')],
            },
        ),
        migrations.CreateModel(
            name='Checkpoint',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('epoch', models.PositiveIntegerField()),
                ('size', models.PositiveBigIntegerField()),
                ('root', models.BinaryField(max_length=32)),
                ('made_at', models.DateTimeField()),
                ('key', models.CharField(max_length=64)),
                ('signature', models.CharField(max_length=128)),
                ('cause', models.CharField(choices=[('daily', 'daily'), ('bundle', 'with an audit bundle'), ('restore', 'with a restore'), ('key', 'with a change of the key')], max_length=8)),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='shared.site')),
            ],
            options={
                'ordering': ['site', 'made_at', 'id'],
                'indexes': [models.Index(fields=['site', 'made_at'], name='checkpoint_of_site')],
            },
        ),
        migrations.CreateModel(
            name='Change',
            fields=[
                ('id', models.UUIDField(default=shared.models.fact.new_id, editable=False, primary_key=True, serialize=False)),
                ('done_at', models.DateTimeField()),
                ('day_only', models.BooleanField(default=False)),
                ('written_at', models.DateTimeField()),
                ('received_at', models.DateTimeField(editable=False)),
                ('brought_in', models.BooleanField(default=False)),
                ('corrects', models.UUIDField(blank=True, null=True)),
                ('why_corrected', models.TextField(blank=True)),
                ('what', models.CharField(max_length=30)),
                ('value', models.JSONField(default=dict)),
                ('cart_id', models.UUIDField(blank=True, null=True)),
                ('reason', models.TextField(blank=True)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('person', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='shared.site')),
            ],
            options={
                'ordering': ['done_at', 'id'],
                'abstract': False,
                'indexes': [models.Index(fields=['cart_id', 'done_at'], name='change_of_cart'), models.Index(fields=['site', 'what', 'done_at'], name='change_of_site')],
            },
        ),
        migrations.CreateModel(
            name='Membership',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('role', models.CharField(choices=[('manager', 'manager'), ('mechanic', 'mechanic'), ('desk', 'desk'), ('surveyor', 'surveyor')], max_length=10)),
                ('from_day', models.DateField()),
                ('to_day', models.DateField(blank=True, null=True)),
                ('may_release', models.BooleanField(default=False)),
                ('is_above', models.BooleanField(db_default=False, default=False)),
                ('person', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='memberships', to=settings.AUTH_USER_MODEL)),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='memberships', to='shared.site')),
            ],
            options={
                'ordering': ['person__name'],
                'constraints': [models.UniqueConstraint(fields=('site', 'person'), name='membership_one_role_at_a_site')],
            },
        ),
        migrations.CreateModel(
            name='PageSeen',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('page', models.CharField(max_length=60)),
                ('address', models.CharField(max_length=300)),
                ('is_download', models.BooleanField(default=False)),
                ('person', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='shared.site')),
            ],
            options={
                'ordering': ['-at', '-id'],
                'indexes': [models.Index(fields=['site', 'at'], name='page_seen_at_site')],
            },
        ),
        migrations.CreateModel(
            name='Photo',
            fields=[
                ('id', models.UUIDField(default=shared.models.fact.new_id, editable=False, primary_key=True, serialize=False)),
                ('done_at', models.DateTimeField()),
                ('day_only', models.BooleanField(default=False)),
                ('written_at', models.DateTimeField()),
                ('received_at', models.DateTimeField(editable=False)),
                ('brought_in', models.BooleanField(default=False)),
                ('corrects', models.UUIDField(blank=True, null=True)),
                ('why_corrected', models.TextField(blank=True)),
                ('cart_id', models.UUIDField(blank=True, null=True)),
                ('about', models.UUIDField(blank=True, null=True)),
                ('shows', models.CharField(choices=[('label-seat', 'label seen from the seat'), ('label-close', 'label close up'), ('tag', 'tag on the cart'), ('tape', 'tape, square or gauge as read'), ('other', 'other')], max_length=12)),
                ('original_sha256', models.CharField(max_length=64)),
                ('copy_sha256', models.CharField(max_length=64)),
                ('width', models.PositiveIntegerField()),
                ('height', models.PositiveIntegerField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='shared.site')),
            ],
            options={
                'ordering': ['done_at', 'id'],
                'abstract': False,
                'indexes': [models.Index(fields=['about'], name='photo_about'), models.Index(fields=['original_sha256'], name='photo_original')],
            },
        ),
    ]
