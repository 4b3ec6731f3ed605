"""How pages are read here, and the figures behind a plan line whose reasons can be told."""


def page(client, address):
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.content.decode()


def behind():
    return {
        "asks_seen": 12,
        "season": 1.0,
        "rate_shape": 8.0,
        "unit_cents": 259.25,
        "keeping_cents": 700.0,
        "serving_cents": 9_000.0,
        "sizes": {"1": 0.75, "4": 0.25},
    }
