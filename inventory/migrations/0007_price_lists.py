import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('inventory', '0006_counts'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='PriceList',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(max_length=24, unique=True)),
                ('file_name', models.CharField(max_length=120)),
                ('uploaded_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('heads', models.JSONField(default=list)),
                ('rows', models.JSONField(default=list)),
                ('columns', models.JSONField(default=dict)),
                ('valid_from', models.DateField(blank=True, null=True)),
                ('accepted_at', models.DateTimeField(blank=True, null=True)),
                ('words', models.CharField(blank=True, max_length=200, verbose_name='what it changed')),
                ('by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('supplier', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='price_lists', to='inventory.supplier')),
            ],
            options={
                'ordering': ['-uploaded_at', '-pk'],
            },
        ),
    ]
