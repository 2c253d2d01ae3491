// Shared by the fragment shaders: lights, noise, soft shadow, tone curve, shading of a surface.

uniform vec3 camera_at;
uniform vec3 key_direction, fill_direction;
uniform vec3 key_colour, fill_colour, sky_colour, ground_colour;
uniform sampler2DShadow shadow_map;
uniform float shadow_softness;
uniform float exposure;

float hash(vec3 p) {
    p = fract(p * 0.1031);
    p += dot(p, p.zyx + 31.32);
    return fract((p.x + p.y) * p.z);
}

// Smooth noise between 0 and 1, about one bump per unit length.
float noise(vec3 x) {
    vec3 i = floor(x), f = fract(x);
    f = f * f * (3.0 - 2.0 * f);
    float near_low = mix(hash(i), hash(i + vec3(1, 0, 0)), f.x);
    float near_high = mix(hash(i + vec3(0, 1, 0)), hash(i + vec3(1, 1, 0)), f.x);
    float far_low = mix(hash(i + vec3(0, 0, 1)), hash(i + vec3(1, 0, 1)), f.x);
    float far_high = mix(hash(i + vec3(0, 1, 1)), hash(i + vec3(1, 1, 1)), f.x);
    return mix(mix(near_low, near_high, f.y), mix(far_low, far_high, f.y), f.z);
}

float layered_noise(vec3 x) {
    return 0.55 * noise(x) + 0.3 * noise(x * 2.03 + 7.0) + 0.15 * noise(x * 4.1 + 3.0);
}

// Share of the key light that arrives: nine taps on a spiral in the shadow map.
float lit(vec4 in_light, float spread) {
    vec3 q = in_light.xyz / in_light.w * 0.5 + 0.5;
    if (any(lessThan(q.xy, vec2(0.002))) || any(greaterThan(q.xy, vec2(0.998)))) return 1.0;
    float sum = 0.0;
    for (int i = 0; i < 9; i++) {
        float radius = sqrt((float(i) + 0.5) / 9.0) * 2.3, angle = 2.4 * float(i);
        vec2 shift = vec2(cos(angle), sin(angle)) * radius * shadow_softness * spread;
        sum += texture(shadow_map, vec3(q.xy + shift, q.z - 0.0012));
    }
    return sum / 9.0;
}

// Filmic curve, then the sRGB transfer.
vec3 developed(vec3 c) {
    c *= exposure;
    c = (c * (2.51 * c + 0.03)) / (c * (2.43 * c + 0.59) + 0.14);
    c = clamp(c, 0.0, 1.0);
    return mix(12.92 * c, 1.055 * pow(c, vec3(1.0 / 2.4)) - 0.055, step(0.0031308, c));
}

// Diffuse light that reaches beyond the terminator, by colour (light inside skin).
vec3 wrapped(float cosine, vec3 wrap) {
    return max((vec3(cosine) + wrap) / (1.0 + wrap), 0.0);
}

float specular(vec3 n, vec3 view, vec3 light, float roughness, float facing_share) {
    vec3 h = normalize(view + light);
    float nh = max(dot(n, h), 0.0), nl = max(dot(n, light), 0.0), nv = max(dot(n, view), 1e-3);
    float a = roughness * roughness, a2 = a * a;
    float spread = a2 / (3.1416 * pow(nh * nh * (a2 - 1.0) + 1.0, 2.0));
    float fresnel = facing_share + (1.0 - facing_share) * pow(1.0 - max(dot(view, h), 0.0), 5.0);
    float k = a * 0.5;
    return spread * fresnel * nl / (4.0 * (nl * (1.0 - k) + k) * (nv * (1.0 - k) + k));
}

struct Material {
    vec3 colour;
    vec3 wrap;
    float roughness;
    float facing_share;
};

vec3 shaded(vec3 place, vec3 n, Material m, float open_sky, float sun) {
    vec3 view = normalize(camera_at - place);
    bool translucent = m.wrap.x > 0.01;
    vec3 sun_by_colour = vec3(pow(sun, translucent ? 0.65 : 1.0), sun, sun);
    vec3 key = key_colour * wrapped(dot(n, key_direction), m.wrap) * sun_by_colour * mix(1.0, open_sky, 0.35);
    vec3 fill = fill_colour * wrapped(dot(n, fill_direction), m.wrap) * mix(1.0, open_sky, 0.6);
    vec3 sky_by_colour = pow(vec3(open_sky), translucent ? vec3(0.85, 1.15, 1.25) : vec3(1.0));
    vec3 sky = mix(ground_colour, sky_colour, n.y * 0.5 + 0.5) * sky_by_colour;
    vec3 c = m.colour * (key + fill + sky);
    c += key_colour * specular(n, view, key_direction, m.roughness, m.facing_share) * sun * open_sky;
    c += fill_colour * specular(n, view, fill_direction, m.roughness, m.facing_share) * open_sky;
    float rim = pow(1.0 - max(dot(n, view), 0.0), 4.0);
    return c + 0.05 * rim * sky_colour * open_sky;
}
