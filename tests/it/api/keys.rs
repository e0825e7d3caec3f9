//! Idempotency keys: a request that is sent again is answered again, and happens once.

use crate::kit::actor::Actor;
use crate::kit::house::{House, t};
use serde_json::{Value, json};

both!(a_repeat_gets_the_same_answer, repeats_at_once, keys_last_seven_days);

fn begin() -> Value {
    json!({"kind": "item", "product": "cake", "name": "Cake", "place": "bench"})
}

async fn a_repeat_gets_the_same_answer(house: House) {
    house.set_up().await;
    let staff = house.staff();
    let first = staff.post_keyed("k1", &json!([begin(), begin()])).await.ok();
    let head = house.head().await;
    house.pass(3_600_000);
    for _ in 0..2 {
        let again = staff.post_keyed("k1", &json!([begin(), begin()])).await.ok();
        assert_eq!((again.status, &again.bytes), (first.status, &first.bytes), "byte for byte, an hour later");
        assert_eq!(again.header("content-type"), first.header("content-type"));
        house.restart().await;
    }
    assert_eq!(house.head().await, head);
    // The same meaning in other words is another request.
    let other = json!([begin(), begin()]).to_string().replace(':', ": ");
    staff.post_text(&other, &[("idempotency-key", "k1")]).await.refused(422, "key-reused");
    staff.post_keyed("k1", &begin()).await.refused(422, "key-reused");
    // Somebody else's key is their own.
    let theirs = house.manager().post_keyed("k1", &begin()).await.ok();
    assert_ne!(theirs.bytes, first.bytes);
    assert_eq!(house.head().await, head + 1);
    // A refusal isn't kept: what was wrong may have been put right.
    let moved = json!({"kind": "move", "item": "tub", "place": "fridge"});
    staff.post_keyed("k2", &moved).await.refused(409, "unknown-item");
    house.write(json!({"kind": "item", "item": "tub", "product": "cake", "name": "Tub", "place": "bench"})).await;
    house.pass(1);
    staff.post_keyed("k2", &moved).await.ok();
    // Without a key it happens again.
    let seen = json!({"kind": "seen", "item": "tub", "place": "fridge"});
    let (one, two) = (staff.post(&seen).await.ok().json(), staff.post(&seen).await.ok().json());
    assert_ne!(one["entries"][0]["seq"], two["entries"][0]["seq"]);
    for key in ["", &"k".repeat(201), "caf\u{e9}"] {
        staff.post_text(&seen.to_string(), &[("idempotency-key", key)]).await.refused(400, "malformed");
    }
    staff.post_keyed(&"k".repeat(200), &seen).await.ok();
    house.agrees().await;
}

/// A phone that lost its patience sends again while the first is still waiting.
async fn repeats_at_once(house: House) {
    house.set_up().await;
    let head = house.head().await;
    let staff = house.staff();
    let tasks: Vec<_> = (0..40)
        .map(|n| {
            let staff = staff.clone();
            tokio::spawn(async move { staff.post_keyed(&format!("k{}", n % 4), &begin()).await.ok() })
        })
        .collect();
    let mut answers = Vec::new();
    for (n, task) in tasks.into_iter().enumerate() {
        answers.push((n % 4, task.await.expect("an answer").bytes));
    }
    for (key, bytes) in &answers {
        assert_eq!(Some(bytes), answers.iter().find(|(k, _)| k == key).map(|(_, b)| b), "key {key}");
    }
    // Four cakes, whatever the product's rules were when they were first named.
    assert_eq!(house.list("open", 100).await.len(), 4);
    assert_eq!(house.head().await, head + 4);
    house.agrees().await;
}

async fn keys_last_seven_days(house: House) {
    house.set_up().await;
    let staff = house.staff();
    let first = staff.post_keyed("k1", &begin()).await.ok();
    house.set("+7 11:59:59.999");
    assert_eq!(staff.post_keyed("k1", &begin()).await.ok().bytes, first.bytes);
    house.set("+7 12:00:00.001");
    let later = staff.post_keyed("k1", &json!({"kind": "restore", "place": "fridge"})).await;
    later.refused(409, "no-lapse");
    let later = staff.post_keyed("k1", &begin()).await.ok();
    assert_ne!(later.bytes, first.bytes);
    assert_eq!(later.json()["entries"][0]["at"], t("+7 12:00:00.001"));
    house.restart().await;
    assert_eq!(staff.post_keyed("k1", &begin()).await.ok().bytes, later.bytes);
    house.agrees().await;
}
