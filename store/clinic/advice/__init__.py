"""What to say to the patient, and what the patient may see."""
