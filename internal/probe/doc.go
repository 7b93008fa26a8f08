// Package probe lets thermometers in that speak MQTT (OASIS MQTT 3.1.1 and 5.0): an
// embedded broker that takes readings and gives nothing out. A thermometer publishes to
// slabside/THERMOMETER/PLACE, in its own name and with its own token, and to nothing else;
// nobody can subscribe to anything.
package probe
