"""The soil class of a site, and the paper with all rule values."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('readiness', '0026_days_off'),
    ]

    operations = [
        migrations.AddField(
            model_name='site',
            name='soil_class',
            field=models.CharField(blank=True, choices=[('A', 'Class A'), ('S', 'Class S'), ('M', 'Class M'), ('H1', 'Class H1'), ('H2', 'Class H2'), ('E', 'Class E'), ('P', 'Class P')], help_text="From the soil report or the plans. Leave empty if you don't know it.", max_length=2),
        ),
        migrations.AlterField(
            model_name='paper',
            name='kind',
            field=models.CharField(choices=[('site_report', 'Site report'), ('fix_list', 'Fix list'), ('confirmation', 'Readiness confirmation'), ('photo_record', 'Photo record'), ('guide', 'Preparation guide'), ('treatment', 'Treatment record'), ('rule_values', 'Rule values and sources')], max_length=16),
        ),
    ]
