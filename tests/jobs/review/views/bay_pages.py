"""What a technician does on the page of a job: opens it, reads the wheels, does the work."""

from django.urls import reverse


def page(client, job):
    answer = client.get(reverse("jobs:job_detail", args=[job.pk]))
    assert answer.status_code == 200
    return answer.content.decode()


def read(client, bay, heard="silent", tries=2, **more):
    fields = {"source": "tool", "lamp_before": "flashes"}
    for wheel in bay.wheels:
        fields[f"heard-{wheel.pk}"] = "answered"
        fields[f"stored-{wheel.pk}"] = "yes"
    fields |= {f"heard-{bay.wheel.pk}": heard, f"tries-{bay.wheel.pk}": tries}
    fields |= {f"{name}-{bay.wheel.pk}": value for name, value in more.items()}
    return client.post(reverse("jobs:job_read", args=[bay.job.pk]), fields)


def do(client, bay, action, **fields):
    address = reverse("jobs:job_do", args=[bay.job.pk, bay.wheel.pk])
    return client.post(address, {"key": "once", "action": action, "id_origin": "new"} | fields)
