package mqtt

import (
	"errors"

	"github.com/eclipse/paho.mqtt.golang/packets"

	"clutchd/daemon/secure"
)

// why says in one sentence why a broker does not take us, or no longer.
func why(err error) string {
	for _, k := range []struct {
		is   error
		text string
	}{
		{packets.ErrorRefusedBadUsernameOrPassword, "it refuses the user or the password"},
		{
			packets.ErrorRefusedNotAuthorised,
			"it does not let this user in: check user, password and client certificate",
		},
		{packets.ErrorRefusedServerUnavailable, "it says that it is not available now"},
		{packets.ErrorRefusedIDRejected, "it refuses our client id"},
		{packets.ErrorRefusedBadProtocolVersion, "it does not speak MQTT 3.1.1"},
	} {
		if errors.Is(err, k.is) {
			return k.text
		}
	}
	return secure.Why(err)
}
