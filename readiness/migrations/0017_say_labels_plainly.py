"""The words of choices, as people on a site say them; nothing in the database changes."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('readiness', '0016_leave_kinds_to_the_catalogue'),
    ]

    operations = [
        migrations.AlterField(
            model_name='business',
            name='fixes_needed',
            field=models.CharField(choices=[('accepted', 'We have accepted each fix'), ('said_fixed', 'The builder has sent a photo of each fix')], default='accepted', max_length=10),
        ),
        migrations.AlterField(
            model_name='defectitem',
            name='decision',
            field=models.CharField(blank=True, choices=[('stands', 'Stands'), ('let_go', 'Withdrawn')], max_length=8),
        ),
        migrations.AlterField(
            model_name='defectitem',
            name='effect',
            field=models.CharField(choices=[('holds', 'Must be fixed before we can book'), ('applicator', 'Applicator will do it'), ('record', 'Record only')], max_length=12),
        ),
        migrations.AlterField(
            model_name='defectitem',
            name='state',
            field=models.CharField(blank=True, choices=[('to_fix', 'To fix'), ('said_fixed', 'Reported fixed'), ('accepted', 'Accepted'), ('sent_back', 'Sent back')], max_length=10),
        ),
        migrations.AlterField(
            model_name='message',
            name='state',
            field=models.CharField(choices=[('held', 'Waiting for the papers'), ('waiting', 'Waiting'), ('sending', 'Being sent'), ('sent', 'Sent'), ('given_up', 'Not sent'), ('dropped', 'No longer needed')], default='waiting', max_length=8),
        ),
    ]
